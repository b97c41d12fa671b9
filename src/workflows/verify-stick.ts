import type { ContentFacts, DifferingFile } from '../core/checks/verify/check-content.ts';
import { unnamedFiles } from '../core/checks/verify/check-firmware.ts';
import { type BesideManifest, checkVerifyFacts } from '../core/checks/verify/check-verify-facts.ts';
import { type Finding, verdictOf } from '../core/findings/finding.ts';
import { keyName, sealedText } from '../core/manifest/build-manifest.ts';
import { stickRecordNamedBy } from '../core/manifest/record-files.ts';
import type { Manifest, ManifestFile } from '../core/model/manifest.ts';
import type { Mode } from '../core/model/mode.ts';
import { isPlainFile, type StickEntry } from '../core/model/stick-facts.ts';
import type { Tell, VerifyReport } from '../core/report/reports.ts';
import type { Volume } from '../io/volume/volume.ts';
import type { Ports } from './ports.ts';
import { digestFiles } from './stick/read-back.ts';
import { isReadFault, readSeal, surveyStick, waysOf } from './stick/survey-stick.ts';

export interface VerifyRequest {
  readonly target: string;
  /** The label of the panel the stick is about to go to. */
  readonly label: string | undefined;
  /** What the person is about to do with it. */
  readonly mode?: Mode | undefined;
  /** Names and sizes only. */
  readonly quick: boolean;
  /** The person says that the stick was out since it was written. */
  readonly replugged: boolean;
  /** Public keys of the desks whose sticks are taken; SubjectPublicKeyInfo in DER, base64. */
  readonly sealFrom?: readonly string[] | undefined;
}

/**
 * From cheap to dear: the manifest, the files present and of the right size, nothing unexpected, the label, then all
 * content. Needs nothing but the stick. Writes nothing new; what the system still had to write of the stick is on it
 * before.
 */
export async function verifyStick(
  request: VerifyRequest,
  ports: Pick<Ports, 'openVolume' | 'digesting' | 'isSignedBy' | 'auditMedium' | 'lookInto'>,
  running: { tell: Tell; signal: AbortSignal },
): Promise<VerifyReport> {
  const volume = await ports.openVolume(request.target, 'read');
  try {
    const isSettled = await volume.settle();
    const { entries, manifest: reading, facts, known } = await surveyStick(volume, ports.digesting);
    const { target } = request;
    const manifest = reading.state === 'whole' ? reading.manifest : undefined;
    const medium = await ports.auditMedium(target, manifest && waysOf(manifest));
    const found = manifest && (await compareAll(request, { volume, entries, manifest }, ports, running));
    // Once more: a write that failed is forgotten when it was said, but a file that is read gets its entry written
    // again, with the day of access, or by `settle` itself where no day is kept.
    const isStillSettled = !isSettled || (await volume.settle());
    const beside = found?.beside;
    const lastMode = known?.manifest.mode;
    const about = { target, stick: facts, entries, reading, medium, lastMode };
    const findings = checkVerifyFacts({ ...about, isSettled, isStillSettled, beside });
    const { filesRead, bytesRead } = found ?? { filesRead: 0, bytesRead: 0 };
    return { command: 'verify', verdict: verdictOf(findings), findings, stick: facts, manifest, filesRead, bytesRead };
  } finally {
    await volume.close();
  }
}

interface Opened {
  readonly volume: Volume;
  readonly entries: readonly StickEntry[];
  readonly manifest: Manifest;
}

/** All that is asked of a stick whose manifest is whole. Counts what was read of the firmware. */
async function compareAll(
  request: VerifyRequest,
  opened: Opened,
  ports: Pick<Ports, 'digesting' | 'isSignedBy' | 'lookInto'>,
  running: { tell: Tell; signal: AbortSignal },
): Promise<{ readonly beside: BesideManifest; readonly filesRead: number; readonly bytesRead: number }> {
  const { volume, entries, manifest } = opened;
  const glances = await ports.lookInto(volume, unnamedFiles(manifest, entries), running.signal);
  const record = stickRecordNamedBy(manifest, ports.digesting.sha256);
  const seal = await askSeal(opened, request, ports);
  const present = new Map(entries.filter(isPlainFile).map(({ path, bytes }) => [path, bytes]));
  const inSize = ({ path, bytes }: ManifestFile): boolean => present.get(path) === bytes;
  const files = { firmware: manifest.files.filter(inSize), record: record.filter(inSize) };
  const read = request.quick ? undefined : await readContent(volume, request, files, ports, running);
  const ofLabel = await askLabel(request, manifest);
  return {
    beside: { manifest, glances, mode: request.mode, ofLabel, record, seal, content: read?.content },
    filesRead: read?.filesRead ?? 0,
    bytesRead: read?.bytesRead ?? 0,
  };
}

/** The pattern matcher is large, and most calls ask about the stick alone. */
async function askLabel({ label }: VerifyRequest, manifest: Manifest): Promise<readonly Finding[]> {
  if (label === undefined) return [];
  const { checkLabel } = await import('../core/checks/verify/check-label.ts');
  return checkLabel(label, manifest);
}

async function askSeal(
  { volume, entries, manifest }: Opened,
  { sealFrom }: VerifyRequest,
  { isSignedBy, digesting }: Pick<Ports, 'isSignedBy' | 'digesting'>,
): Promise<BesideManifest['seal']> {
  const reading = await readSeal(volume, entries);
  const nameOf = (publicKey: string): string => keyName(digesting.sha256(publicKey));
  const seal = reading.state === 'whole' ? reading.seal : undefined;
  const trusted = sealFrom?.find((key) => key === seal?.publicKey) ?? sealFrom?.[0];
  return {
    reading,
    isSound: seal !== undefined && isSignedBy(seal.publicKey, sealedText(manifest), seal.signature),
    named: manifest.schema === 'stickwright/manifest/2' ? manifest.sealedBy : undefined,
    sealedBy: seal === undefined ? undefined : nameOf(seal.publicKey),
    trusted: trusted === undefined ? undefined : { publicKey: trusted, name: nameOf(trusted) },
  };
}

interface ReadContent {
  readonly content: ContentFacts;
  readonly filesRead: number;
  readonly bytesRead: number;
}

/**
 * Reads every file that is there in its right size and compares its SHA-256 with the manifest's. Counts those of the
 * firmware.
 */
async function readContent(
  volume: Volume,
  { target, replugged }: VerifyRequest,
  { firmware, record }: { readonly firmware: readonly ManifestFile[]; readonly record: readonly ManifestFile[] },
  { digesting }: Pick<Ports, 'digesting'>,
  { tell, signal }: { tell: Tell; signal: AbortSignal },
): Promise<ReadContent> {
  const files = [...firmware, ...record];
  const totalBytes = firmware.reduce((sum, { bytes }) => sum + bytes, 0);
  const differing: DifferingFile[] = [];
  let doneBytes = 0;
  let fromCache = false;
  tell({ kind: 'stage', target, stage: 'reading', totalBytes });
  const outcomes = await digestFiles(volume, firmware, {
    digesting,
    signal,
    heard: (bytes) => {
      doneBytes += bytes;
      tell({ kind: 'progress', target, stage: 'reading', doneBytes, totalBytes });
    },
  });
  const beside = await digestFiles(volume, record, { digesting, signal });
  for (const [index, file] of files.entries()) {
    const outcome = index < firmware.length ? outcomes[index] : beside[index - firmware.length];
    if (outcome !== undefined && 'content' in outcome) {
      const { sha256, readBack } = outcome.content;
      fromCache ||= readBack === 'cache';
      if (sha256 !== file.sha256) differing.push({ file, seen: { state: 'other', sha256 } });
    } else {
      const error = outcome?.error;
      if (!isReadFault(error)) throw error;
      const isUnreadable = error.code === 'stick/read-failed';
      differing.push({
        file,
        seen: isUnreadable ? { state: 'unreadable', problem: error.message } : { state: 'gone' },
      });
    }
  }
  return { content: { differing, fromCache, replugged }, filesRead: firmware.length, bytesRead: doneBytes };
}
