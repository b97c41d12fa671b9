import { stopsOfNextJob } from '../checks/medium/check-medium.ts';
import { checkMounts } from '../checks/stick/check-format.ts';
import { checkManifest } from '../checks/verify/check-record.ts';
import type { LeftKind } from '../contents/content-kinds.ts';
import type { SortedEntry } from '../contents/sort-contents.ts';
import type { FactsOf } from '../findings/catalogue.ts';
import { type Finding, finding, severityOf } from '../findings/finding.ts';
import type { ManifestReading } from '../manifest/build-manifest.ts';
import { parentOf, rootOf } from '../manifest/stick-names.ts';
import type { Manifest } from '../model/manifest.ts';
import type { RoundRecordOf } from '../model/round-record.ts';
import type { StickEntry, StickFacts } from '../model/stick-facts.ts';
import { countInWords } from '../text/words.ts';
import type { MediumFacts } from '../volume-format/audit/flaw.ts';
import { isBeingPrepared } from './check-clearing.ts';

interface ReturnedFacts {
  readonly target: string;
  readonly manifest: Manifest;
  readonly sorted: readonly SortedEntry[];
  readonly stick: StickFacts;
}

/**
 * What happened to the stick while it was out. Whether the firmware is still whole is judged by the checks of verify.
 */
export function checkReturned(facts: ReturnedFacts): readonly Finding[] {
  return [...checkVisit(facts), ...checkStrangers(facts), ...checkOthers(facts), ...checkMark(facts.stick)];
}

/** What a panel and what a desk left. */
function checkVisit({ target, manifest, sorted }: ReturnedFacts): readonly Finding[] {
  const fresh = sorted.filter(({ isNew }) => isNew);
  const marks = topPaths(fresh, 'panel-mark', 'panel-log', 'panel-file');
  const logs = files(fresh, 'panel-log');
  const others = files(fresh, 'panel-file');
  const desk = topPaths(fresh, 'desk-mark');
  const inRoot = [...marks, ...desk, ...topPaths(fresh, 'desk-bin')].filter((path) => !path.includes('/'));
  const strict = manifest.family?.onlyTheseAtRoot === true;
  return [
    ...(marks.length > 0 ? [finding('returned/visited', target, { paths: marks })] : []),
    ...(logs.length > 0 ? [finding('returned/logs-left', target, described(logs))] : []),
    ...(others.length > 0 ? [finding('returned/files-of-a-panel', target, described(others))] : []),
    ...(desk.length > 0 ? [finding('returned/was-at-a-desk', target, { paths: desk })] : []),
    ...(strict && inRoot.length > 0 ? [finding('verify/root-not-empty', target, { paths: [...new Set(inRoot)] })] : []),
  ];
}

/** What nobody can explain, and what sorts before a firmware file. */
function checkStrangers({ target, sorted }: ReturnedFacts): readonly Finding[] {
  const fresh = sorted.filter(({ isNew }) => isNew);
  const unexplained = topPaths(fresh, 'unexplained');
  const bins = files(fresh, 'desk-bin');
  const twins = files(sorted, 'twin').map(({ path }) => path);
  return [
    ...(unexplained.length > 0 ? [finding('returned/unexplained', target, { paths: unexplained })] : []),
    ...(bins.length > 0 ? [finding('returned/thrown-away', target, described(bins))] : []),
    ...(twins.length > 0 ? [finding('returned/twins', target, { paths: twins })] : []),
  ];
}

/** Somebody's files that were there when the stick was prepared. */
function checkOthers({ target, manifest, sorted }: ReturnedFacts): readonly Finding[] {
  const sizes = rootSizes(sorted);
  const gone = manifest.untouched.filter(({ path }) => !sizes.has(path)).map(({ path }) => path);
  const changed = manifest.untouched
    .filter(({ path, bytes }) => sizes.has(path) && sizes.get(path) !== bytes && isSomebodys(path, sorted))
    .map(({ path }) => path);
  return [
    ...(gone.length > 0 ? [finding('returned/others-gone', target, { paths: gone })] : []),
    ...(changed.length > 0 ? [finding('returned/others-changed', target, { paths: changed })] : []),
  ];
}

const isSomebodys = (path: string, sorted: readonly SortedEntry[]): boolean =>
  sorted.some((entry) => entry.path === path && entry.what === 'stayed');

/** While a volume is mounted its driver sets the mark itself. */
const checkMark = ({ target, kind, dirty }: StickFacts): readonly Finding[] =>
  dirty === true && kind !== 'folder' ? [finding('returned/not-ejected', target)] : [];

function rootSizes(sorted: readonly StickEntry[]): ReadonlyMap<string, number> {
  const sizes = new Map<string, number>();
  for (const { path, bytes } of sorted) {
    const root = rootOf(path);
    sizes.set(root, (sizes.get(root) ?? 0) + bytes);
  }
  return sizes;
}

const files = (sorted: readonly SortedEntry[], what: LeftKind): readonly SortedEntry[] =>
  sorted.filter((entry) => entry.kind === 'file' && entry.what === what);

const described = (entries: readonly StickEntry[]) => ({
  paths: entries.map(({ path }) => path),
  bytes: entries.reduce((sum, { bytes }) => sum + bytes, 0),
});

/** Entries of these kinds that lie in no other entry of these kinds. */
export function topPaths(sorted: readonly SortedEntry[], ...kinds: readonly LeftKind[]): readonly string[] {
  const chosen = sorted.filter(({ what }) => kinds.includes(what));
  const paths = new Set(chosen.map(({ path }) => path));
  return chosen.filter(({ path }) => !paths.has(parentOf(path))).map(({ path }) => path);
}

/** A stick whose folders cannot be read shows nothing else. */
export const checkListable = (target: string, problem: string): readonly Finding[] => [
  finding('returned/not-readable', target, { problem }),
];

/** What lies on a stick, as far as it tells what the stick was last about. */
interface Survey {
  readonly entries: readonly StickEntry[];
  readonly manifest: ManifestReading;
  /** The newest whole manifest, also one that does not count. */
  readonly known: { readonly manifest: Manifest } | undefined;
  readonly facts: StickFacts;
}

/** There is no manifest that counts. */
export function checkUnmade(target: string, survey: Survey, medium: MediumFacts): readonly Finding[] {
  const { manifest: reading, entries, known, facts } = survey;
  const left = new Set(known?.manifest.files.map(({ path }) => path));
  const stops = stopsOfNextJob(medium, facts, known?.manifest.mode);
  const isStopped = stops.length > 0;
  const unmade = isBeingPrepared(entries)
    ? [finding('returned/preparation-unfinished', target, { isStopped })]
    : known === undefined || reading.state !== 'none'
      ? checkManifest(target, { reading, entries, isStopped })
      : [
          finding('returned/clearing-unfinished', target, {
            files: entries.filter(({ path }) => left.has(path)).length,
          }),
        ];
  return [...checkMounts(target, entries), ...stops, ...unmade];
}

/** What verify says of these is said here in the words of a stick that comes back. */
const saidElsewhere: ReadonlySet<string> = new Set([
  'verify/unexpected',
  'verify/visited-a-panel',
  'verify/system-junk',
  'verify/root-not-empty',
  'verify/replugged',
]);

/** What verify found, for a stick that came back: whether the firmware is still what it was. */
export function checkFirmwareBack(
  target: string,
  manifest: Manifest,
  verified: { readonly findings: readonly Finding[]; readonly filesRead: number },
): readonly Finding[] {
  const findings = verified.findings.filter(({ code }) => !saidElsewhere.has(code)).map(asDamage);
  const isChanged = findings.some(({ code }) => /^verify\/(missing|changed|unreadable)$/.test(code));
  return [...findings, ...(isChanged ? [] : checkWhole(target, manifest, verified.filesRead))];
}

const asDamage = (found: Finding): Finding =>
  found.code === 'stick/needs-repair'
    ? finding('returned/damaged', found.subject, found.facts as FactsOf<'returned/damaged'>)
    : found;

/** `3 files of the firmware (82 MB) are as the manifest says` is a note, and only where all content was read. */
function checkWhole(target: string, manifest: Manifest, filesRead: number): readonly Finding[] {
  if (filesRead !== manifest.files.length) return [];
  return [finding('returned/unchanged', target, { files: countInWords(filesRead, 'firmware file') })];
}

/** What becomes of a stick that came back. */
const conclusions = ['go-again', 'not-proven', 'prepare-anew', 'finish-clearing', 'retire'] as const;
export type Conclusion = (typeof conclusions)[number];

/** The medium itself failed: trade, "retired on any read error" (common practice, no source). */
const ofWear: ReadonlySet<string> = new Set([
  'verify/unreadable',
  'returned/not-readable',
  'medium/unreadable-sectors',
  'medium/errors-recorded',
  'medium/bad-clusters',
  'medium/exfat-media-failure',
]);

const ofChange: ReadonlySet<string> = new Set([
  'verify/changed',
  'verify/missing',
  'verify/manifest-broken',
  'verify/seal-broken',
  'verify/seal-removed',
  'verify/record-changed',
  'returned/unexplained',
  'returned/twins',
  'verify/firmware-inside',
]);

export function conclude(findings: readonly Finding[]): Conclusion {
  const codes = new Set<string>(findings.map(({ code }) => code));
  if (isWorn(findings)) return 'retire';
  if (codes.has('returned/clearing-unfinished')) return 'finish-clearing';
  const severities = new Set(findings.map(severityOf));
  if (severities.has('stop')) return 'prepare-anew';
  return severities.has('unproven') ? 'not-proven' : 'go-again';
}

export const isWorn = (findings: readonly Finding[]): boolean => findings.some(({ code }) => ofWear.has(code));

/** One word for the record of the round. */
export function stateOf(findings: readonly Finding[]): RoundRecordOf<'returned'>['state'] {
  const has = (codes: ReadonlySet<string>): boolean => findings.some(({ code }) => codes.has(code));
  if (has(ofWear)) return 'unreadable';
  if (has(ofChange)) return 'changed';
  return has(new Set(['returned/visited'])) ? 'visited' : 'unchanged';
}
