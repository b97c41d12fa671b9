import { withOwnDigest } from '../../core/documents/own-digest.ts';
import type { Finding } from '../../core/findings/finding.ts';
import { buildManifest, keyName, makeSeal, sealedText } from '../../core/manifest/build-manifest.ts';
import { recordFiles } from '../../core/manifest/record-files.ts';
import type { Manifest, ManifestFile, Seal } from '../../core/model/manifest.ts';
import type { ReadBackKind } from '../../io/volume/volume.ts';
import type { Job, Ports } from '../ports.ts';
import type { StickPlan } from './plan-stick.ts';

export interface Done {
  readonly job: Job;
  readonly planned: StickPlan;
  readonly archiveSha256: string;
  readonly files: readonly ManifestFile[];
  readonly findings: readonly Finding[];
  readonly readBack: ReadBackKind;
}

export interface StickRecord {
  readonly manifest: Manifest;
  /** Undefined where the desk has no key. */
  readonly seal: Seal | undefined;
}

/** What is written beside the firmware. The code on the stick's tag stays the same for the same stick. */
export function makeRecord(
  { job, planned, archiveSha256, files, findings, readBack }: Done,
  { newStickCode, now, toolVersion, digesting, deskKey }: Ports,
): StickRecord {
  const described = buildManifest({
    stickCode: planned.survey.known?.manifest.stick ?? newStickCode(),
    preparedAt: now(),
    toolVersion,
    plan: planned.plan,
    rules: job.rules,
    label: job.label,
    package: job.package,
    archive: job.archive,
    archiveSha256,
    files,
    folders: job.wanted.folders,
    stick: planned.survey.facts,
    findings,
    readBack,
  });
  const record = [...recordFiles(described, digesting.sha256)];
  const sealedBy = deskKey === undefined ? null : keyName(digesting.sha256(deskKey.publicKey));
  const manifest = withOwnDigest({ ...described, record, sealedBy }, digesting.sha256);
  const seal = deskKey === undefined ? undefined : makeSeal(deskKey.publicKey, deskKey.sign(sealedText(manifest)));
  return { manifest, seal };
}
