import { largestManifestBytes, type ManifestReading, parseManifest } from '../../core/manifest/parse-manifest.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { StickEntry, StickFacts } from '../../core/model/stick-facts.ts';
import { keepCandidates, type ProvenContent } from '../../core/plan/find-kept.ts';
import { foldName, manifestPath } from '../../core/plan/stick-names.ts';
import type { WantedTree } from '../../core/plan/wanted-tree.ts';
import type { Tell } from '../../core/report/events.ts';
import type { Digesting } from '../../io/digest/digest.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';
import { digestFile } from './digest-file.ts';

/** What lies on a stick, as far as a plan needs to know. */
export interface StickSurvey {
  readonly facts: StickFacts;
  readonly entries: readonly StickEntry[];
  readonly manifest: ManifestReading;
}

/** Lists the stick and reads its manifest; writes nothing. */
export async function surveyStick(volume: Volume, digesting: Digesting): Promise<StickSurvey> {
  const entries = await volume.entries();
  return { facts: volume.facts, entries, manifest: await readManifest(volume, entries, digesting) };
}

async function readManifest(
  volume: Volume,
  entries: readonly StickEntry[],
  digesting: Digesting,
): Promise<ManifestReading> {
  const entry = entries.find(({ path, kind }) => kind === 'file' && foldName(path) === foldName(manifestPath));
  if (entry === undefined) return { state: 'none' };
  if (entry.bytes > largestManifestBytes) return { state: 'broken', problem: 'it is far too large for a manifest' };
  const reader = await volume.open(entry.path, 'fresh');
  const decoder = new TextDecoder('utf-8', { fatal: true });
  let text = '';
  try {
    for await (const chunk of reader.chunks()) text += decoder.decode(chunk, { stream: true });
    text += decoder.decode();
  } catch (error) {
    if (!(error instanceof TypeError)) throw error;
    return { state: 'broken', problem: 'it is not UTF-8 text; it was overwritten' };
  }
  return parseManifest(text, digesting.sha256);
}

export interface ProvenStick {
  readonly proven: ProvenContent;
  /** Where the proof was read from; undefined where nothing had to be read. */
  readonly readBack: ReadBackKind | undefined;
}

/** Reads the files that may already be right, so that they need not be written again. */
export async function proveCandidates(
  volume: Volume,
  onStick: { wanted: WantedTree; entries: readonly StickEntry[]; manifest: Manifest | undefined; sameJob: boolean },
  digesting: Digesting,
  { tell, signal }: { tell: Tell; signal: AbortSignal },
): Promise<ProvenStick> {
  const candidates = keepCandidates(onStick);
  const totalBytes = candidates.reduce((sum, { entry }) => sum + entry.bytes, 0);
  const { target } = volume.facts;
  const proven = new Map<string, { sha256: string; crc32: number }>();
  let readBack: ReadBackKind | undefined;
  let doneBytes = 0;
  if (totalBytes > 0) tell({ kind: 'stage', target, stage: 'looking', totalBytes });
  for (const { entry } of candidates) {
    const digest = await digestFile(volume, entry.path, {
      digesting,
      signal,
      crc: true,
      heard: (bytes) => {
        doneBytes += bytes;
        tell({ kind: 'progress', target, stage: 'looking', doneBytes, totalBytes });
      },
    });
    proven.set(entry.path, digest);
    readBack = readBack === 'cache' ? 'cache' : digest.readBack;
  }
  return { proven, readBack };
}
