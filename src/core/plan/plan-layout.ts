import { type Content, classifyContents } from '../contents/classify-contents.ts';
import { isWithin, removalOf, settingAside, staleStaging, withdrawal } from '../contents/clear-items.ts';
import { confusesPanel, isOfSystem, isPartOfTheJob } from '../contents/content-kinds.ts';
import { findKept, type Kept, type ProvenContent } from '../contents/find-kept.ts';
import { type FirmwareNames, firmwareSign } from '../contents/firmware-signs.ts';
import type { WantedFile, WantedTree } from '../contents/wanted-tree.ts';
import {
  isUnfinishedWork,
  parentOf,
  rootOf,
  stagingFolder,
  stickRecordFolder,
  toolFolder,
} from '../manifest/stick-names.ts';
import type { LayoutPlan, PlanItem } from '../model/layout-plan.ts';
import type { Manifest } from '../model/manifest.ts';
import type { LeftoverPolicy, Mode } from '../model/mode.ts';
import type { FileGlance, StickEntry, StickFacts } from '../model/stick-facts.ts';
import { clustersFor } from '../volume-format/fat-geometry.ts';
import { freeBytesAfter } from './space-after.ts';

export interface PlanInput extends FirmwareNames {
  readonly mode: Mode;
  readonly wanted: WantedTree;
  readonly stick: StickFacts;
  readonly entries: readonly StickEntry[];
  readonly proven: ProvenContent;
  /** What a look into the files showed that are not known. */
  readonly glances: ReadonlyMap<string, FileGlance>;
  /**
   * The whole manifest that lies on the stick, if there is one: the one that counts, or what an unfinished run left of
   * one.
   */
  readonly manifest: Manifest | undefined;
  /** Where it lies. */
  readonly manifestAt?: string | undefined;
  /** What an unfinished run made is not sound as it lies there: all of it goes, its folders too, and is made anew. */
  readonly startsOver?: boolean;
  /** false: the record must be written anew although nothing else changes: it tells other decisions, say. */
  readonly recordIsCurrent?: boolean;
  /** True where that manifest was made from this archive, for this mode and this label. */
  readonly sameJob: boolean;
  readonly policy: LeftoverPolicy;
  /** The panel wants nothing else at the root. */
  readonly strictRoot: boolean;
  /** RFC 3339; names the set-aside folder. */
  readonly at: string;
}

export interface PlanResult {
  readonly plan: LayoutPlan;
  /** Everything that was found on the stick, with its kind; the checks speak of it. */
  readonly contents: readonly Content[];
}

/**
 * Says exactly what will be withdrawn, set aside, removed, kept and written, in order. Where the policy is `stop`,
 * what is in the way stays in place and the checks say so.
 */
export function planLayout(input: PlanInput): PlanResult {
  const kept = findKept(input, input.proven);
  const contents = classifyContents({ ...input, kept });
  const writing = input.wanted.files.filter((file) => !kept.has(file.path)).map((file) => write(file, input.stick));
  const keeping = input.wanted.files.flatMap((file) => keep(file, kept));
  const cleared = [...clearing(contents, input), ...staleStaging(input, kept)];
  const work = [...missingFolders(input), ...writing];
  const unfinished = input.entries.some(({ path }) => isUnfinishedWork(path));
  const untouched = staying(contents, input);
  const isCurrent = input.recordIsCurrent !== false && knowsAll(input.manifest, contents, untouched);
  const nothingToDo = cleared.length === 0 && work.length === 0 && input.sameJob && !unfinished && isCurrent;
  const record = { action: 'record', path: toolFolder } as const;
  const { first, last } = withdrawal(input.entries, manifestToKeep(input));
  const items = nothingToDo ? keeping : [...first, ...cleared, ...work, ...keeping, ...last, record];
  const plan: LayoutPlan = {
    mode: input.mode,
    items,
    untouched,
    writeBytes: writing.reduce((sum, item) => sum + item.bytes, 0),
    freeBytesNow: input.stick.freeBytes,
    freeBytesAfter: freeBytesAfter(input.stick, items, input.entries),
    nothingToDo,
  };
  return { plan, contents };
}

function clearing(contents: readonly Content[], input: PlanInput): readonly PlanItem[] {
  const damaged = contents
    .filter(({ kind }) => kind === 'damaged')
    .flatMap((content) => removalOf(content, input.entries));
  const inTheWay = topmost(contents.filter(({ kind }) => confusesPanel(kind, input.strictRoot)));
  const { at, entries } = input;
  const isFirmware = (path: string): boolean => firmwareSign(path, input.glances.get(path), input) !== undefined;
  switch (input.policy) {
    case 'stop':
      return damaged;
    case 'set-aside':
      return [...settingAside(inTheWay, { at, entries, isFirmware }), ...damaged];
    case 'remove':
      return [...inTheWay.flatMap((content) => removalOf(content, entries)), ...damaged];
  }
}

/** What goes with its folder needs no line of its own. */
function topmost(contents: readonly Content[]): readonly Content[] {
  const going = new Set(contents.map(({ path }) => path));
  return contents.filter(({ path }) => !isWithin(parentOf(path), going));
}

/** What stays beside the firmware at the root, as large as it then is. */
function staying(contents: readonly Content[], input: PlanInput): LayoutPlan['untouched'] {
  const within = input.policy === 'stop' ? [] : contents.filter(({ sign }) => sign !== undefined);
  return contents
    .filter((content) => content.sign === undefined && staysBeside(content, input))
    .map(({ path, bytes }) => {
      const going = within.filter((one) => one.path.startsWith(`${path}/`)).reduce((sum, one) => sum + one.bytes, 0);
      return { path, bytes: bytes - going };
    });
}

const staysBeside = ({ kind }: Content, { policy, strictRoot }: PlanInput): boolean =>
  !isPartOfTheJob(kind) && (policy === 'stop' || !confusesPanel(kind, strictRoot));

/**
 * Whether the record knows all that stays beside the firmware; what systems leave changes by itself and is judged by
 * its content.
 */
function knowsAll(
  manifest: Manifest | undefined,
  contents: readonly Content[],
  untouched: LayoutPlan['untouched'],
): boolean {
  const known = new Map(manifest?.untouched.map(({ path, bytes }) => [path, bytes]));
  const aside = new Set(manifest?.setAside.map(({ to }) => rootOf(to)));
  const left = new Set(contents.filter(({ kind }) => isOfSystem(kind)).map(({ path }) => path));
  return untouched.every(({ path, bytes }) => left.has(path) || aside.has(path) || known.get(path) === bytes);
}

/** One that lies in a folder which goes is only withdrawn. */
const manifestToKeep = ({ manifestAt, startsOver }: PlanInput): string | undefined =>
  startsOver === true && manifestAt !== undefined && rootOf(manifestAt) === stickRecordFolder ? undefined : manifestAt;

function missingFolders({ entries, wanted, startsOver }: PlanInput): readonly PlanItem[] {
  const present = new Set(entries.filter(({ kind }) => kind === 'folder').map(({ path }) => path));
  return wanted.folders
    .filter((folder) => !present.has(folder) && (startsOver || !present.has(`${stagingFolder}/${folder}`)))
    .map((path) => ({ action: 'make-folder', path }));
}

function keep(file: WantedFile, kept: Kept): readonly PlanItem[] {
  const at = kept.get(file.path);
  if (at === undefined) return [];
  return [{ action: 'keep', path: file.path, bytes: file.bytes, origin: file.origin, staged: at.staged }];
}

function write(file: WantedFile, stick: StickFacts): Extract<PlanItem, { action: 'write' }> {
  const clusters = stick.clusterBytes === undefined ? undefined : clustersFor(file.bytes, stick.clusterBytes);
  return { action: 'write', path: file.path, bytes: file.bytes, clusters, origin: file.origin };
}
