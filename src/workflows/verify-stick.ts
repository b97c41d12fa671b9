import { checkMounts, checkOneVolume } from '../core/checks/stick/check-format.ts';
import { checkFirmware, unnamedFiles } from '../core/checks/verify/check-firmware.ts';
import { checkPresence } from '../core/checks/verify/check-presence.ts';
import {
  checkHistory,
  checkManifest,
  checkMode,
  checkRecordFiles,
  checkSeal,
  checkSettled,
  checkVolume,
} from '../core/checks/verify/check-record.ts';
import { type Finding, finding, verdictOf } from '../core/findings/finding.ts';
import { keyName, sealedText } from '../core/manifest/build-manifest.ts';
import { recordNamedBy } from '../core/manifest/record-files.ts';
import { rootOf, toolFolder } from '../core/manifest/stick-names.ts';
import type { Manifest, ManifestFile } from '../core/model/manifest.ts';
import type { Mode } from '../core/model/mode.ts';
import { isPlainFile, type StickEntry } from '../core/model/stick-facts.ts';
import type { Tell, VerifyReport } from '../core/report/reports.ts';
import type { Volume } from '../io/volume/volume.ts';
import type { Ports } from './ports.ts';
import { digestFiles, keepDiffering } from './stick/digest-files.ts';
import { examineMedium, waysOf } from './stick/examine-medium.ts';
import { isReadFault, readSeal, surveyStick } from './stick/survey-stick.ts';

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
  /** The public key of the desk whose sticks are taken; SubjectPublicKeyInfo in DER, base64. */
  readonly sealFrom?: string | undefined;
}

/**
 * From cheap to dear: the manifest, the files present and of the right size, nothing unexpected, the label, then all
 * content. Needs nothing but the stick. Writes nothing; what the system still had to write of the stick is on it before.
 */
export async function verifyStick(
  request: VerifyRequest,
  ports: Pick<Ports, 'openVolume' | 'digesting' | 'isSignedBy' | 'auditMedium' | 'lookInto'>,
  running: { tell: Tell; signal: AbortSignal },
): Promise<VerifyReport> {
  if (!request.quick) ports.digesting.getReady?.();
  const volume = await ports.openVolume(request.target, 'read');
  try {
    const isSettled = await volume.settle();
    const { entries, manifest: reading, facts } = await surveyStick(volume, ports.digesting);
    const { target } = request;
    const manifest = reading.state === 'whole' ? reading.manifest : undefined;
    const found = [
      ...checkSettled(target, isSettled),
      ...checkMounts(target, entries),
      ...checkManifest(target, reading, entries),
    ];
    let content: ContentCheck = { findings: [], filesRead: 0, bytesRead: 0 };
    if (manifest !== undefined) {
      found.push(
        ...checkVolume(facts, manifest),
        ...(await examineMedium(facts, manifest.mode, ports, waysOf(manifest))).findings,
      );
      const overridden = new Set(manifest.overrides.map(({ code }) => code)); // the record says so itself, with the reason
      found.push(...checkOneVolume(facts).filter(({ code }) => !overridden.has(code)));
      found.push(...checkPresence(target, manifest, entries));
      const glances = await ports.lookInto(volume, unnamedFiles(manifest, entries), running.signal);
      found.push(...checkFirmware(target, manifest, glances));
      if (request.mode !== undefined) found.push(...checkMode(target, manifest, request.mode));
      if (request.label !== undefined) {
        // The pattern matcher is large, and most calls ask about the stick alone.
        const { checkLabel } = await import('../core/checks/verify/check-label.ts');
        found.push(...checkLabel(request.label, manifest));
      }
      const record = recordNamedBy(manifest, ports.digesting.sha256);
      found.push(...checkHistory(target, manifest), ...checkRecordFiles(record, entries));
      found.push(...(await judgeSeal(volume, entries, manifest, request, ports)));
      const present = new Map(entries.filter(isPlainFile).map(({ path, bytes }) => [path, bytes]));
      const inSize = ({ path, bytes }: ManifestFile): boolean => present.get(path) === bytes;
      content = request.quick
        ? { ...content, findings: [finding('verify/content-not-read', target)] }
        : await checkContent(
            volume,
            request,
            { firmware: manifest.files.filter(inSize), record: record.filter(inSize) },
            ports,
            running,
          );
    }
    // Once more: a write that failed is forgotten when it was said, but a file that is read gets its entry written again, with the day of
    // access (not on a mount with noatime).
    const isStillSettled = !isSettled || (await volume.settle());
    const findings = [...found, ...content.findings, ...checkSettled(target, isStillSettled)];
    const { filesRead, bytesRead } = content;
    return { command: 'verify', verdict: verdictOf(findings), findings, stick: facts, manifest, filesRead, bytesRead };
  } finally {
    await volume.close();
  }
}

async function judgeSeal(
  volume: Volume,
  entries: readonly StickEntry[],
  manifest: Manifest,
  { target, sealFrom }: VerifyRequest,
  { isSignedBy, digesting }: Pick<Ports, 'isSignedBy' | 'digesting'>,
): Promise<readonly Finding[]> {
  const reading = await readSeal(volume, entries);
  const nameOf = (publicKey: string): string => keyName(digesting.sha256(publicKey));
  const seal = reading.state === 'whole' ? reading.seal : undefined;
  return checkSeal({
    target,
    reading,
    isSound: seal !== undefined && isSignedBy(seal.publicKey, sealedText(manifest), seal.signature),
    named: manifest.schema === 'stickwright/manifest/2' ? manifest.sealedBy : undefined,
    sealedBy: seal === undefined ? undefined : nameOf(seal.publicKey),
    trusted: sealFrom === undefined ? undefined : { publicKey: sealFrom, name: nameOf(sealFrom) },
  });
}

interface ContentCheck {
  readonly findings: readonly Finding[];
  readonly filesRead: number;
  readonly bytesRead: number;
}

/** Reads every file that is there in its right size and compares its SHA-256 with the manifest's. Counts those of the firmware. */
async function checkContent(
  volume: Volume,
  { target, replugged }: VerifyRequest,
  { firmware, record }: { readonly firmware: readonly ManifestFile[]; readonly record: readonly ManifestFile[] },
  { digesting }: Pick<Ports, 'digesting'>,
  { tell, signal }: { tell: Tell; signal: AbortSignal },
): Promise<ContentCheck> {
  const files = [...firmware, ...record];
  const totalBytes = firmware.reduce((sum, { bytes }) => sum + bytes, 0);
  const findings: Finding[] = [];
  let doneBytes = 0;
  let fromCache = false;
  tell({ kind: 'stage', target, stage: 'reading', totalBytes });
  const outcomes = await digestFiles(volume, firmware, {
    ...keepDiffering((index) => firmware[index]?.sha256),
    digesting,
    signal,
    heard: (bytes) => {
      doneBytes += bytes;
      tell({ kind: 'progress', target, stage: 'reading', doneBytes, totalBytes });
    },
  });
  const beside = await digestFiles(volume, record, {
    ...keepDiffering((index) => record[index]?.sha256),
    digesting,
    signal,
  });
  for (const [index, { path, sha256 }] of files.entries()) {
    const outcome = index < firmware.length ? outcomes[index] : beside[index - firmware.length];
    if (typeof outcome === 'string') {
      fromCache ||= outcome === 'cache';
      continue;
    }
    if (outcome === undefined || 'error' in outcome) {
      if (!isReadFault(outcome?.error)) throw outcome?.error;
      // It was listed a moment ago: that it went, or became something else, is no fault of the medium.
      findings.push(
        outcome.error.code === 'stick/read-failed'
          ? finding('verify/unreadable', path, { problem: outcome.error.message })
          : finding('verify/missing', path, { bytes: files[index]?.bytes ?? 0 }),
      );
      continue;
    }
    const { content } = outcome;
    fromCache ||= content.readBack === 'cache';
    findings.push(
      rootOf(path) === toolFolder
        ? finding('verify/record-changed', path, { got: 'content' })
        : finding('verify/changed', path, { what: 'content', expected: sha256, got: content.sha256 }),
    );
  }
  if (fromCache) findings.push(finding(replugged ? 'verify/replugged' : 'verify/read-from-cache', target));
  return { findings, filesRead: firmware.length, bytesRead: doneBytes };
}
