import { stopsOfNextJob } from '../checks/medium/check-medium.ts';
import { checkCondition, checkMounts } from '../checks/stick/check-format.ts';
import { type Finding, finding } from '../findings/finding.ts';
import { isUnfinishedWork, stagingFolder, stickRecordFolder } from '../manifest/stick-names.ts';
import type { StickEntry, StickFacts } from '../model/stick-facts.ts';
import type { FlawKind, MediumFacts } from '../volume-format/audit/flaw.ts';

interface ClearingQuestion {
  readonly stick: StickFacts;
  readonly entries: readonly StickEntry[];
  readonly toolFolder: string;
  /** What the sectors say; of a mounted FAT volume only part, and nothing where they may not be read. */
  readonly medium: MediumFacts | undefined;
  /** The person agreed in advance, also to a target that is not a removable drive. */
  readonly agreed: boolean;
  /** The medium itself failed. */
  readonly isWorn: boolean;
}

/** What forbids clearing. */
export function checkClearing(question: ClearingQuestion): readonly Finding[] {
  const { stick, entries, medium, agreed, isWorn } = question;
  const isStopped = medium !== undefined && stopsOfNextJob(medium, stick).length > 0;
  const damaged = damagedPaths(question);
  const keepsMark = stick.dirty === true && stick.kind !== 'folder' && !canSettleMark(stick, medium);
  return [
    ...checkCondition({ ...stick, dirty: undefined }, agreed),
    ...checkMounts(stick.target, entries),
    ...checkWorn(stick.target, isWorn),
    ...(isBeingPrepared(entries) ? [finding('returned/preparation-unfinished', stick.target, { isStopped })] : []),
    ...(damaged.length > 0 ? [finding('returned/repair-first', stick.target, { what: damaged })] : []),
    ...(damaged.length === 0 && keepsMark ? [finding('returned/repair-before-preparing', stick.target)] : []),
  ];
}

export const checkWorn = (target: string, isWorn: boolean): readonly Finding[] =>
  isWorn ? [finding('returned/too-worn-to-clear', target)] : [];

/** Without a manifest, and without a folder that only this tool makes, nobody knows what may go. */
export const checkIsOurs = (target: string, isOurs: boolean): readonly Finding[] =>
  isOurs ? [] : [finding('returned/nothing-to-clear', target)];

/** What the operating system did not let go of. */
export const checkCleared = (target: string, held: readonly string[]): readonly Finding[] =>
  held.length === 0 ? [] : [finding('returned/not-removed', target, { paths: held })];

/** Files wait to be moved into place: that is a preparation's unfinished work and not a visit's. */
export const isBeingPrepared = (entries: readonly StickEntry[]): boolean =>
  entries.some(({ path }) => isUnfinishedWork(path) && (path === stagingFolder || path === stickRecordFolder));

/**
 * Taking away a file whose clusters another one shares, or that the table does not hold, can take somebody's with it.
 */
const dangerous: ReadonlySet<FlawKind> = new Set<FlawKind>([
  'cross-linked',
  'chain-loops',
  'chain-broken',
  'chain-short',
  'start-cluster-invalid',
  'folder-damaged',
  'root-damaged',
  'fat-entries-invalid',
  'name-duplicate',
  'way-shared',
  'used-marked-free',
  'exfat-root-damaged',
  'exfat-entries-damaged',
]);

/**
 * What a clearing that was cut off can leave: the record under both its names. Linux's vfat takes it for damage when
 * the second one goes.
 */
function damagedPaths({ stick, medium, toolFolder }: ClearingQuestion): readonly string[] {
  const flaws = (medium?.volumes ?? []).flatMap((volume) => volume.flaws).filter(({ kind }) => dangerous.has(kind));
  return flaws.flatMap(({ kind, detail }) => {
    if (!('paths' in detail)) return [kind];
    const paths = 'pairs' in detail ? detail.pairs.flatMap(({ first, second }) => [second, first]) : detail.paths;
    const plain = [...new Set(paths.map((path) => path.replace(/^\/(?=.)/, '')))];
    const others = plain.filter((path) => !path.startsWith(`${toolFolder}/`));
    if (others.length > 0) return others;
    const areNamed = detail.paths.length === detail.count;
    return areNamed && !(stick.kind === 'folder' && kind === 'cross-linked') ? [] : [kind];
  });
}

/** Beside these an unclean pull left nothing that a repair would mend. */
const unsound: ReadonlySet<FlawKind> = new Set<FlawKind>([
  ...dangerous,
  'unreadable-sectors',
  'errors-recorded',
  'fat-start-wrong',
  'fat-copies-differ',
  'bad-clusters',
  'lost-clusters',
  'chain-long',
  'folder-states-size',
  'name-invalid',
  'slot-damaged',
  'too-much-to-check',
  'boot-sector-damaged',
  'volume-past-partition',
]);

/**
 * The volume says that it was pulled in the middle, and everything that a repair looks at was looked at and is sound.
 */
export function canSettleMark({ dirty, kind }: StickFacts, medium: MediumFacts | undefined): boolean {
  if (dirty !== true || kind === 'folder' || medium === undefined) return false;
  const audited = medium.volumes.filter((volume) => volume.audited);
  const flaws = [...medium.flaws, ...audited.flatMap((volume) => volume.flaws)];
  return audited.length === 1 && !flaws.some((flaw) => unsound.has(flaw.kind));
}
