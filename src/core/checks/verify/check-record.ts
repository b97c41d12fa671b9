import { type Finding, finding } from '../../findings/finding.ts';
import type { ManifestReading, SealReading } from '../../manifest/build-manifest.ts';
import { isUnfinishedWork, rootOf } from '../../manifest/stick-names.ts';
import type { Manifest, ManifestFile } from '../../model/manifest.ts';
import type { Mode } from '../../model/mode.ts';
import type { StickEntry, StickFacts } from '../../model/stick-facts.ts';

interface ManifestFacts {
  readonly reading: ManifestReading;
  readonly entries: readonly StickEntry[];
  /** Something else must be mended before a preparation goes on. */
  readonly isStopped: boolean;
}

/** Whether there is a manifest at all, and a whole one. Empty where there is. */
export function checkManifest(target: string, { reading, entries, isStopped }: ManifestFacts): readonly Finding[] {
  const unfinished = entries.find(({ path }) => isUnfinishedWork(path));
  switch (reading.state) {
    case 'whole':
      return [];
    case 'none':
      return unfinished === undefined
        ? [finding('verify/not-prepared', target)]
        : [finding('verify/unfinished', target, { folder: rootOf(unfinished.path), isStopped })];
    case 'broken':
      return [finding('verify/manifest-broken', target, { problem: reading.problem })];
    case 'newer':
      return [finding('verify/manifest-newer', target, { schema: reading.schema })];
  }
}

/** Whether what was judged is on the medium, and not only in the memory of the computer that judges. */
export const checkSettled = (target: string, isSettled: boolean): readonly Finding[] =>
  isSettled ? [] : [finding('stick/eject-due', target)];

/** What the person at the panel must hear of how this stick was made. */
export function checkHistory(target: string, manifest: Manifest): readonly Finding[] {
  return [
    ...(manifest.keepsData ? [] : [finding('verify/wipes-the-panel', target, { mode: manifest.mode })]),
    ...manifest.overrides.map(({ code, subject, because }) => finding('verify/override', subject, { code, because })),
    ...manifest.unproven.map(({ code, subject }) => finding('verify/was-unproven', subject, { code })),
    ...(manifest.schema === 'stickwright/manifest/1'
      ? [finding('verify/older-manifest', target, { schema: manifest.schema, version: manifest.tool.version })]
      : []),
  ];
}

/** Whether it is the stick for what the person is about to do; the file names alone do not say so at the panel. */
export function checkMode(target: string, { mode: prepared, keepsData }: Manifest, asked: Mode): readonly Finding[] {
  if (prepared === asked) return [finding('verify/same-mode', target, { mode: asked })];
  return [finding('verify/other-mode', target, { prepared, asked, wipes: !keepsData })];
}

/**
 * Whether the list and the note are there in their sizes. They are part of the record: who edits them edits what others
 * check by.
 */
export function checkStickRecordFiles(
  named: readonly ManifestFile[],
  entries: readonly StickEntry[],
): readonly Finding[] {
  const present = new Map(entries.filter(({ kind }) => kind === 'file').map(({ path, bytes }) => [path, bytes]));
  return named.flatMap(({ path, bytes }) => {
    const got = present.get(path);
    if (got === bytes) return [];
    return [finding('verify/record-changed', path, { got: got === undefined ? 'missing' : 'size' })];
  });
}

/** Whether the files still lie on the volume they were written to. */
export function checkVolume(
  { target, kind, fileSystem, volumeSerial, dirty }: StickFacts,
  { volume }: Manifest,
): readonly Finding[] {
  const found: Finding[] = [];
  if (fileSystem !== 'unknown' && volume.fileSystem !== 'unknown' && fileSystem !== volume.fileSystem) {
    found.push(finding('verify/file-system-differs', target, { expected: volume.fileSystem, got: fileSystem }));
  }
  if (volumeSerial !== undefined && volume.serial !== null && volumeSerial !== volume.serial) {
    found.push(finding('verify/other-volume', target, { expected: volume.serial, got: volumeSerial }));
  }
  // Of a mounted volume the mark only says that it is mounted.
  if (dirty === true && kind !== 'folder') found.push(finding('verify/not-ejected', target));
  return found;
}

export interface SealFacts {
  readonly target: string;
  readonly reading: SealReading;
  /** The seal's signature is right for the manifest and the key that the seal names. */
  readonly isSound: boolean;
  /** Names of keys as people compare them. */
  readonly sealedBy: string | undefined;
  /**
   * Whom the manifest itself names: null where it says that it has no seal, undefined where its version does not say.
   */
  readonly named: string | null | undefined;
  /** The key that the person trusts; undefined where they named none. */
  readonly trusted: { readonly publicKey: string; readonly name: string } | undefined;
}

/**
 * Whether the manifest is the desk's own. Whoever can write a stick can write a manifest that is whole; only a seal
 * tells.
 */
export function checkSeal({ target, reading, isSound, sealedBy, named, trusted }: SealFacts): readonly Finding[] {
  if (reading.state === 'broken' || (reading.state === 'whole' && !isSound))
    return [finding('verify/seal-broken', target)];
  if (reading.state === 'none' && typeof named === 'string')
    return [finding('verify/seal-removed', target, { name: named })];
  if (reading.state === 'whole' && named !== undefined && named !== sealedBy)
    return [finding('verify/seal-broken', target)];
  if (trusted === undefined) return [finding('verify/seal-not-asked', target, { sealedBy })];
  if (reading.state === 'none') return [finding('verify/seal-missing', target, { wanted: trusted.name })];
  if (reading.seal.publicKey !== trusted.publicKey)
    return [finding('verify/sealed-by-another', target, { wanted: trusted.name, got: sealedBy ?? 'unknown' })];
  return [finding('verify/sealed', target, { name: trusted.name })];
}
