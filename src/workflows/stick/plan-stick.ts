import { checkPlannedStick, checkStickFacts } from '../../core/checks/stick/check-stick-facts.ts';
import { checkStickRecordFiles } from '../../core/checks/verify/check-record.ts';
import type { WantedTree } from '../../core/contents/wanted-tree.ts';
import { type Finding, withAccepted } from '../../core/findings/finding.ts';
import { decisionsOf, keyName, type ManifestReading, sealedText } from '../../core/manifest/build-manifest.ts';
import { stickRecordNamedBy } from '../../core/manifest/record-files.ts';
import {
  ownFolders,
  rootOf,
  stagingFolder,
  stickRecordFolder,
  stickRecordPaths,
  toolFolder,
} from '../../core/manifest/stick-names.ts';
import type { LayoutPlan } from '../../core/model/layout-plan.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { LeftoverPolicy } from '../../core/model/mode.ts';
import { type FileGlance, isPlainFile, type StickEntry, type StickFacts } from '../../core/model/stick-facts.ts';
import { planLayout } from '../../core/plan/plan-layout.ts';
import type { Tell } from '../../core/report/reports.ts';
import { isSameLabel } from '../../core/text/label-text.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';
import type { Job, Ports } from '../ports.ts';
import { contentOf, digestFiles } from './read-back.ts';
import {
  examineMedium,
  isReadFault,
  proveCandidates,
  readSeal,
  type StickSurvey,
  surveyStick,
} from './survey-stick.ts';

export interface StickOptions {
  readonly leftovers: LeftoverPolicy;
  readonly dryRun: boolean;
  readonly agreed: boolean;
  readonly accepted: ReadonlyMap<string, string>;
  /** The target is an image file that is about to be copied: reading it back proves nothing about any stick. */
  readonly asImage?: boolean;
}

export interface StickPlan {
  readonly survey: StickSurvey;
  readonly plan: LayoutPlan;
  readonly findings: readonly Finding[];
  /** SHA-256 of the kept files as they were read while planning, by stick path. */
  readonly proven: ReadonlyMap<string, { readonly sha256: string }>;
  readonly provenFrom: ReadBackKind | undefined;
  /** As `StickQuestion` has it. */
  readonly isMediumRead: boolean;
}

/** Looks at a stick and says what would be done with it. Reads only. */
export async function planStick(
  volume: Volume,
  job: Job,
  options: Pick<StickOptions, 'leftovers' | 'agreed' | 'accepted'>,
  common: readonly Finding[],
  ports: Pick<Ports, 'digesting' | 'now' | 'deskKey' | 'isSignedBy' | 'auditMedium' | 'lookInto'>,
  running: { tell: Tell; signal: AbortSignal },
): Promise<StickPlan> {
  const survey = await surveyStick(volume, ports.digesting);
  const { manifest, at: manifestAt } = survey.known ?? {};
  const sameJob = manifest !== undefined && isSameJob(manifest, job);
  // Nothing can be moved, removed or kept by a name that leads nowhere; `checkMounts` speaks of those.
  const entries = survey.entries.filter(({ odd }) => odd !== 'name');
  const onStick = { wanted: job.wanted, entries, manifest, sameJob };
  const asked = waysTo(job.wanted, survey.facts);
  const medium = await examineMedium(survey.facts, job.mode, ports, asked);
  const startsOver = asked.unfinished.some((path) => medium.doubtful.has(path));
  const isSound = ({ path }: StickEntry): boolean =>
    !medium.doubtful.has(path) && !(startsOver && rootOf(path) === stagingFolder);
  const sound = { ...onStick, entries: entries.filter(isSound) };
  const { proven, readBack } = await proveCandidates(volume, sound, ports.digesting, running);
  const glances = await lookIntoUnknown(volume, onStick, ports, running.signal);
  const strictRoot = job.rules['only-these-at-root'];
  const about = checkStickFacts({
    stick: survey.facts,
    entries: survey.entries,
    medium: medium.findings,
    isMediumRead: medium.isRead,
    stands: !asked.hasAll(medium.doubtful),
    mode: job.mode,
    rules: job.rules,
    agreed: options.agreed,
  });
  const reading: ManifestReading = manifest === undefined ? survey.manifest : { state: 'whole', manifest };
  const planWith = (recordIsCurrent: boolean) => {
    const { plan, contents } = planLayout({
      ...onStick,
      manifestAt,
      recordIsCurrent,
      mode: job.mode,
      stick: survey.facts,
      proven,
      startsOver,
      policy: options.leftovers,
      strictRoot,
      at: ports.now(),
      glances,
      ...job.names,
    });
    const findings = checkPlannedStick({
      about,
      stick: survey.facts,
      entries: survey.entries,
      contents,
      plan,
      wanted: job.wanted,
      rules: job.rules,
      glances,
      manifest: reading,
      label: job.label.normalised,
      policy: options.leftovers,
      strictRoot,
    });
    return { plan, findings };
  };
  // Which stops a person accepted is known when the contents are: the record is compared with a plan that leaves it.
  const asItIs = planWith(true);
  const known = [...common, ...withAccepted(asItIs.findings, options.accepted)];
  const stays =
    manifest === undefined ||
    !asItIs.plan.nothingToDo ||
    (!stickRecordPaths.some((path) => medium.doubtful.has(path)) &&
      (await isRecordCurrent(volume, survey.entries, manifest, known, ports)));
  const { plan, findings } = stays ? asItIs : planWith(false);
  return { survey, plan, findings, proven, provenFrom: readBack, isMediumRead: medium.isRead };
}

/** All but what the preparation puts there itself, and reads whole. */
async function lookIntoUnknown(
  volume: Volume,
  { wanted, entries }: { readonly wanted: WantedTree; readonly entries: readonly StickEntry[] },
  { lookInto }: Pick<Ports, 'lookInto'>,
  signal: AbortSignal,
): Promise<ReadonlyMap<string, FileGlance>> {
  const known = new Set(wanted.files.map(({ path }) => path));
  const files = entries.filter(
    (entry) => isPlainFile(entry) && !known.has(entry.path) && !ownFolders.includes(rootOf(entry.path)),
  );
  return await lookInto(volume, files, signal);
}

/**
 * What may be kept: where it is wanted, and where an unfinished run left it, with the folders that it made for that.
 */
function waysTo({ files, folders }: WantedTree, { kind }: Pick<StickFacts, 'kind'>) {
  const unfinished = [stickRecordFolder, stagingFolder, ...folders.map((path) => `${stagingFolder}/${path}`)];
  const firmware = files.flatMap(({ path }) => [path, `${stagingFolder}/${path}`]);
  const record = [...stickRecordPaths, toolFolder, ...unfinished]; // an earlier record goes with its folder
  const all = new Set([...firmware, ...record]);
  return {
    firmware,
    record,
    // A cut while the root grew leaves its tables unlike. Which sectors a driver will write nobody knows.
    mendsRoot: kind !== 'folder',
    unfinished,
    hasAll: (paths: ReadonlySet<string>) => [...paths].every((path) => all.has(path)),
  };
}

/** The manifest speaks of this archive, this mode and this label. */
function isSameJob({ archive, mode, label }: Manifest, job: Job): boolean {
  return (
    mode === job.mode &&
    archive.name === job.archive.fileName &&
    archive.bytes === job.archive.bytes &&
    archive.directorySha256 === job.archive.directorySha256 &&
    isSameLabel(label.normalised, job.label.normalised)
  );
}

/**
 * Whether all that lies beside the firmware is as this run would write it, as far as is KNOWN, so that nothing of it
 * need be written.
 */
async function isRecordCurrent(
  volume: Volume,
  entries: readonly StickEntry[],
  manifest: Manifest,
  known: readonly Finding[],
  ports: Pick<Ports, 'deskKey' | 'isSignedBy' | 'digesting'>,
): Promise<boolean> {
  if (manifest.schema !== 'stickwright/manifest/2') return false;
  const { overrides, unproven } = decisionsOf(known);
  // A doubt may be settled now, or be a new one: only the pass over the archive will tell.
  if (manifest.unproven.length > 0 || unproven.length > 0) return false;
  if (JSON.stringify(manifest.overrides.map(inWords)) !== JSON.stringify(overrides.map(inWords))) return false;
  return (
    (await isSealedAsItSays(volume, entries, manifest, ports)) &&
    (await areRecordFilesWhole(volume, entries, manifest, ports))
  );
}

const inWords = ({ code, subject, because }: Manifest['overrides'][number]) => [code, subject, because];

/** Without a key of its own a desk leaves the seal of another one. */
async function isSealedAsItSays(
  volume: Volume,
  entries: readonly StickEntry[],
  manifest: Manifest & { readonly sealedBy: string | null },
  { deskKey, isSignedBy, digesting }: Pick<Ports, 'deskKey' | 'isSignedBy' | 'digesting'>,
): Promise<boolean> {
  const reading = await readSeal(volume, entries);
  if (reading.state === 'none') return deskKey === undefined && manifest.sealedBy === null;
  if (reading.state === 'broken') return false;
  const { publicKey, signature } = reading.seal;
  return (
    (deskKey === undefined || publicKey === deskKey.publicKey) &&
    manifest.sealedBy === keyName(digesting.sha256(publicKey)) &&
    isSignedBy(publicKey, sealedText(manifest), signature)
  );
}

async function areRecordFilesWhole(
  volume: Volume,
  entries: readonly StickEntry[],
  manifest: Manifest,
  { digesting }: Pick<Ports, 'digesting'>,
): Promise<boolean> {
  const named = stickRecordNamedBy(manifest, digesting.sha256);
  if (checkStickRecordFiles(named, entries).length > 0) return false;
  const outcomes = await digestFiles(volume, named, { digesting });
  return named.every(({ sha256 }, index) => isThat(outcomes[index], sha256));
}

function isThat(outcome: Parameters<typeof contentOf>[0], sha256: string): boolean {
  if (outcome !== undefined && 'error' in outcome && isReadFault(outcome.error)) return false;
  return contentOf(outcome).sha256 === sha256;
}
