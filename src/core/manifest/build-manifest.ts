import { canonicalForm, parseDocument, parseShape, type Sha256 } from '../documents/own-digest.ts';
import { doubtsOf, isSettledBy, rootCodeOf } from '../findings/doubts.ts';
import type { Finding } from '../findings/finding.ts';
import type { ArchiveFacts } from '../model/archive-facts.ts';
import type { ModeRules } from '../model/family.ts';
import type { LayoutPlan } from '../model/layout-plan.ts';
import {
  type Manifest,
  type Manifest2,
  type ManifestFile,
  manifest1Schema,
  manifest2Schema,
  type Seal,
  sealSchema,
} from '../model/manifest.ts';
import type { LabelReading, PackageReading } from '../model/panel-identity.ts';
import type { StickFacts } from '../model/stick-facts.ts';
import { compareText } from '../text/words.ts';

interface ManifestInput {
  readonly stickCode: string;
  /** RFC 3339. */
  readonly preparedAt: string;
  readonly toolVersion: string;
  readonly plan: LayoutPlan;
  readonly rules: ModeRules;
  readonly label: LabelReading;
  readonly package: PackageReading;
  readonly archive: ArchiveFacts;
  readonly archiveSha256: string;
  readonly files: readonly ManifestFile[];
  readonly folders: readonly string[];
  readonly stick: StickFacts;
  readonly findings: readonly Finding[];
  readonly readBack: 'medium' | 'cache';
}

/** What the list and the note are made of; they are named in the manifest, so they come first. */
export type DescribedStick = Omit<Manifest2, 'record' | 'sealedBy' | 'selfSha256'>;

/** What a person decided and what nobody could prove: both are repeated by every later check. */
export const decisionsOf = (findings: readonly Finding[]): Pick<Manifest2, 'overrides' | 'unproven'> => ({
  overrides: findings.flatMap(({ code, subject, acceptedBecause }) =>
    acceptedBecause === undefined ? [] : [{ code, subject, because: acceptedBecause }],
  ),
  unproven: doubtsOf(findings)
    .map((found) => ({ code: rootCodeOf(found), subject: found.subject }))
    .filter(({ code }) => !isSettledBy('verify', code)),
});

/** What is written beside the firmware, all but what lies beside it and its own digest. */
export function buildManifest(input: ManifestInput): DescribedStick {
  const { archive, stick, plan, findings } = input;
  const of = <Action extends LayoutPlan['items'][number]['action']>(action: Action) =>
    plan.items.filter(
      (item): item is Extract<LayoutPlan['items'][number], { action: Action }> => item.action === action,
    );
  return {
    schema: 'stickwright/manifest/2',
    stick: input.stickCode,
    preparedAt: input.preparedAt,
    tool: { name: 'stickwright', version: input.toolVersion },
    mode: plan.mode,
    keepsData: input.rules['keeps-data'],
    ...identity(input),
    files: input.files.toSorted((a, b) => compareText(a.path, b.path)),
    folders: [...input.folders],
    untouched: plan.untouched.map(({ path, bytes }) => ({ path, bytes })),
    setAside: of('set-aside').map(({ path, to }) => ({ path, to })),
    removed: of('remove').map(({ path }) => path),
    volume: {
      fileSystem: stick.fileSystem,
      clusterBytes: stick.clusterBytes ?? null,
      volumeBytes: stick.volumeBytes,
      serial: stick.volumeSerial ?? null,
      label: stick.volumeLabel ?? null,
      partitionTable: stick.partitionTable,
    },
    ...decisionsOf(findings),
    readBack: input.readBack,
  };

  function identity({ label, package: named, rules }: ManifestInput): Pick<Manifest2, 'label' | 'family' | 'archive'> {
    const read = label.readings.length === 1 ? label.readings[0] : undefined;
    const pack = named.readings.find(({ family }) => family.family === read?.family.family);
    return {
      label: { text: label.text, normalised: label.normalised, parts: read === undefined ? null : { ...read.parts } },
      family:
        read === undefined
          ? null
          : {
              name: read.family.family,
              title: read.family.title,
              sha256: read.family.sha256,
              label: { pattern: read.family.label.pattern, absent: read.family.label.absent },
              onlyTheseAtRoot: rules['only-these-at-root'],
            },
      archive: {
        name: archive.fileName,
        bytes: archive.bytes,
        sha256: input.archiveSha256,
        directorySha256: archive.directorySha256,
        build: pack?.build ?? null,
        parts: pack === undefined ? null : { ...pack.parts },
        agree: pack === undefined ? [] : [...pack.agree],
      },
    };
  }
}

/**
 * Larger than any manifest of a real package: 65,535 files with paths of 100 letters. A reader need not take more into
 * memory.
 */
export const largestManifestBytes = 16 * 2 ** 20;

/**
 * What the record of one path takes at most, as it is written: its members, and three bytes for a letter beyond ASCII.
 */
export const recordedBytes = (path: string): number =>
  160 + path.length + 2 * (path.match(/[^\x20-\x7e]/g)?.length ?? 0);

export type ManifestReading =
  | { readonly state: 'none' }
  /** There is one, but this version cannot read it, or it is not what was written. */
  | { readonly state: 'broken'; readonly problem: string }
  | { readonly state: 'newer'; readonly schema: string }
  | { readonly state: 'whole'; readonly manifest: Manifest };

/** Reads a manifest's text; it is whole only if its own digest matches. Never throws on bad text. */
export function parseManifest(text: string, sha256: Sha256): ManifestReading {
  const reading = parseDocument<Manifest>(text, 'manifest', { 1: manifest1Schema, 2: manifest2Schema }, sha256);
  if (reading.state !== 'whole') return reading;
  // JSON says nothing of what follows it; a size that is one less in the file's slot would go unseen.
  if (!text.endsWith('}\n')) return { state: 'broken', problem: 'it does not end as it was written' };
  return { state: 'whole', manifest: reading.document };
}

export function serialiseManifest(manifest: Manifest): string {
  return `${JSON.stringify(manifest, null, 2)}\n`;
}

export type SealReading =
  | { readonly state: 'none' }
  /** There is something under its name that is no seal. */
  | { readonly state: 'broken' }
  | { readonly state: 'whole'; readonly seal: Seal };

/** What a seal is made over. The first line keeps a signature of anything else from being taken for one. */
export const sealedText = (manifest: Manifest): string => `stickwright/seal/1\n${canonicalForm(manifest)}`;

export const makeSeal = (publicKey: string, signature: string): Seal => ({
  schema: 'stickwright/seal/1',
  algorithm: 'Ed25519',
  publicKey,
  signature,
});

export const serialiseSeal = (seal: Seal): string => `${JSON.stringify(seal, null, 2)}\n`;

/** Never throws on bad text. */
export function parseSeal(text: string): SealReading {
  const reading = parseShape(text, 'seal', { 1: sealSchema });
  return reading.state === 'whole' ? { state: 'whole', seal: reading.document } : { state: 'broken' };
}

/**
 * The first 16 hex digits of the SHA-256 of a key in base64: enough to tell a desk's keys apart by eye, not to trust
 * one.
 */
export const keyName = (publicKeySha256: string): string =>
  (publicKeySha256.slice(0, 16).match(/.{4}/g) ?? []).join('-');
