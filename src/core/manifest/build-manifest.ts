import { doubtsOf, isSettledBy, rootCodeOf } from '../findings/doubts.ts';
import type { Finding } from '../findings/finding.ts';
import type { ArchiveFacts } from '../model/archive-facts.ts';
import type { ModeRules } from '../model/family.ts';
import type { LayoutPlan } from '../model/layout-plan.ts';
import type { Manifest2, ManifestFile } from '../model/manifest.ts';
import type { LabelReading, PackageReading } from '../model/panel-identity.ts';
import type { StickFacts } from '../model/stick-facts.ts';

export interface ManifestInput {
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
    files: input.files.toSorted((a, b) => (a.path < b.path ? -1 : a.path > b.path ? 1 : 0)),
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
