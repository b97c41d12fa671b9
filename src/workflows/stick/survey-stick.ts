import { checkMediumToWrite } from '../../core/checks/medium/check-medium.ts';
import { keepCandidates, type ProvenContent } from '../../core/contents/find-kept.ts';
import type { WantedTree } from '../../core/contents/wanted-tree.ts';
import type { Finding } from '../../core/findings/finding.ts';
import {
  largestManifestBytes,
  type ManifestReading,
  parseManifest,
  parseSeal,
  type SealReading,
} from '../../core/manifest/build-manifest.ts';
import { manifestPath, sealPath, stickRecordPaths, unpublishedManifests } from '../../core/manifest/stick-names.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { StickEntry, StickFacts } from '../../core/model/stick-facts.ts';
import { hasCode, type ToolError } from '../../core/model/tool-error.ts';
import type { Tell } from '../../core/report/reports.ts';
import type { WaysAsked } from '../../core/volume-format/audit/way-tree.ts';
import type { Digesting } from '../../io/digest/digest.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';
import type { Ports } from '../ports.ts';
import { digestFiles } from './read-back.ts';

/** What lies on a stick, as far as a plan needs to know. */
export interface StickSurvey {
  readonly facts: StickFacts;
  readonly entries: readonly StickEntry[];
  readonly manifest: ManifestReading;
  /**
   * The manifest that the stick was last about: the one that counts, else the newest whole one of an unfinished run.
   */
  readonly known: { readonly manifest: Manifest; readonly at: string } | undefined;
}

/** Lists the stick and reads its manifest; writes nothing. */
export async function surveyStick(volume: Volume, digesting: Digesting): Promise<StickSurvey> {
  const entries = await volume.entries();
  const manifest = await readManifest(volume, entries, manifestPath, digesting);
  return { facts: volume.facts, entries, manifest, known: await findKnown(volume, entries, manifest, digesting) };
}

async function findKnown(
  volume: Volume,
  entries: readonly StickEntry[],
  published: ManifestReading,
  digesting: Digesting,
): Promise<StickSurvey['known']> {
  if (published.state === 'whole') return { manifest: published.manifest, at: manifestPath };
  for (const path of unpublishedManifests) {
    const reading = await readManifest(volume, entries, path, digesting);
    if (reading.state === 'whole') return { manifest: reading.manifest, at: path };
  }
  return undefined;
}

/** Reads the seal beside the manifest. */
export async function readSeal(volume: Volume, entries: readonly StickEntry[]): Promise<SealReading> {
  const entry = entries.find(({ path, kind }) => kind === 'file' && path === sealPath);
  if (entry === undefined) return { state: 'none' };
  if (entry.bytes > largestSealBytes) return { state: 'broken' };
  try {
    return parseSeal(await readText(volume, entry.path));
  } catch (error) {
    if (isReadFault(error) || error instanceof TypeError) return { state: 'broken' };
    throw error;
  }
}

const largestSealBytes = 4096;

/** Throws TypeError where it is not UTF-8. */
async function readText(volume: Volume, path: string): Promise<string> {
  const reader = await volume.open(path, 'fresh');
  const decoder = new TextDecoder('utf-8', { fatal: true });
  let text = '';
  for await (const chunk of reader.chunks()) text += decoder.decode(chunk, { stream: true });
  return text + decoder.decode();
}

async function readManifest(
  volume: Volume,
  entries: readonly StickEntry[],
  path: string,
  digesting: Digesting,
): Promise<ManifestReading> {
  const entry = entries.find(({ path: at, kind }) => kind === 'file' && at === path);
  if (entry === undefined) return { state: 'none' };
  if (entry.bytes > largestManifestBytes) return { state: 'broken', problem: 'it is far too large for a manifest' };
  let text: string;
  try {
    text = await readText(volume, entry.path);
  } catch (error) {
    if (isReadFault(error)) return { state: 'broken', problem: `it cannot be read: ${error.message}` };
    if (!(error instanceof TypeError)) throw error;
    return { state: 'broken', problem: 'it is not UTF-8 text; it was overwritten' };
  }
  return parseManifest(text, digesting.sha256);
}

/** One file that cannot be read is an answer about the stick; a stick that is gone is not. */
export const isReadFault = (error: unknown): error is ToolError =>
  hasCode(error, 'stick/read-failed', 'stick/not-as-listed');

interface ProvenStick {
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
  const outcomes = await digestFiles(
    volume,
    candidates.map(({ entry }) => entry),
    {
      digesting,
      signal,
      crc: true,
      heard: (bytes) => {
        doneBytes += bytes;
        tell({ kind: 'progress', target, stage: 'looking', doneBytes, totalBytes });
      },
    },
  );
  for (const [index, { entry }] of candidates.entries()) {
    const outcome = outcomes[index];
    if (outcome === undefined || 'error' in outcome) {
      if (!isReadFault(outcome?.error)) throw outcome?.error;
      continue; // it is not proven, and written anew
    }
    const { content } = outcome;
    proven.set(entry.path, content);
    readBack = readBack === 'cache' ? 'cache' : content.readBack;
  }
  return { proven, readBack };
}

/** What must be read alike by all on a stick that says of itself what MANIFEST says. */
export const waysOf = ({ files, folders }: Pick<Manifest, 'files' | 'folders'>): WaysAsked => ({
  firmware: [...files.map(({ path }) => path), ...folders],
  record: stickRecordPaths,
});

interface Examination {
  readonly findings: readonly Finding[];
  /** False where this account may not read the drive under a folder. */
  readonly isRead: boolean;
  /** As `VolumeFacts` has it. */
  readonly doubtful: ReadonlySet<string>;
}

/** What the sectors say beyond the volume's own facts; of a mounted folder's only what `auditMounted` does. */
export async function examineMedium(
  stick: StickFacts,
  mode: Mode,
  { auditMedium }: Pick<Ports, 'auditMedium'>,
  asked: WaysAsked,
): Promise<Examination> {
  const facts = await auditMedium(stick.target, asked);
  return {
    findings: checkMediumToWrite(facts, mode, stick),
    isRead: facts.volumes.length > 0,
    doubtful: new Set(facts.volumes.flatMap(({ doubtful }) => doubtful)),
  };
}

/** BEFORE, and what was not said then: everything has its place now, and whoever reads it must find the same. */
export async function examineAgain(
  stick: StickFacts,
  manifest: Manifest,
  before: readonly Finding[],
  ports: Pick<Ports, 'auditMedium'>,
): Promise<readonly Finding[]> {
  const { findings } = await examineMedium(stick, manifest.mode, ports, waysOf(manifest));
  const said = new Set(before.map(({ code }) => code));
  return [...before, ...findings.filter(({ code }) => !said.has(code))];
}
