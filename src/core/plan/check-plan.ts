import picomatch from 'picomatch';
import type { WantedTree } from '../contents/wanted-tree.ts';
import { fileSystemInWords } from '../findings/catalogue/stick.ts';
import { type Finding, finding } from '../findings/finding.ts';
import { largestManifestBytes, recordedBytes } from '../manifest/build-manifest.ts';
import { ownFolders, parentOf, rootOf, toolFolder } from '../manifest/stick-names.ts';
import type { ModeRules } from '../model/family.ts';
import type { LayoutPlan, PlanItem } from '../model/layout-plan.ts';
import type { StickEntry, StickFacts } from '../model/stick-facts.ts';
import { groupBy } from '../text/words.ts';
import { fatMaxFileBytes, foldName, mayBeAliasOf, slotsFor } from '../volume-format/fat-name.ts';

export interface PlanFacts {
  readonly plan: LayoutPlan;
  readonly wanted: WantedTree;
  readonly stick: StickFacts;
  /** What lies on the stick now. */
  readonly entries: readonly StickEntry[];
  readonly rules: ModeRules;
  /** Taken on the volume, and in no file; undefined where nobody can look. */
  readonly lostBytes?: number | undefined;
}

/** Whether what the plan would leave on the stick can be written and can work at the panel. */
export function checkPlan(facts: PlanFacts): readonly Finding[] {
  return [
    ...checkRequired(facts.wanted, facts.rules),
    ...checkNames(facts.wanted),
    ...checkSpace(facts),
    ...checkFileSizes(facts.wanted, facts.stick),
    ...checkRootSlots(facts.plan, facts.stick),
    ...checkShortNames(facts),
    ...checkRecord(facts.plan, facts.stick),
    ...checkStrictRoot(facts.plan, facts.rules),
    ...checkOutcome(facts.plan, facts.rules),
  ];
}

/** Every pattern that the family requires at the root must be met by a file; a copy lying deeper is named. */
function checkRequired({ files }: WantedTree, rules: ModeRules): readonly Finding[] {
  return rules['required-at-root'].flatMap((pattern) => {
    const matches = picomatch(pattern, { nocase: true, dot: true });
    if (files.some(({ path }) => matches(path))) return [];
    const deeper = picomatch(`*/**/${pattern}`, { nocase: true, dot: true });
    const deeperAt = files.find(({ path }) => deeper(path))?.path;
    return [finding('plan/required-missing', pattern, { pattern, deeperAt })];
  });
}

function checkNames({ files, folders }: WantedTree): readonly Finding[] {
  const roots = new Set([...files.map(({ path }) => rootOf(path)), ...folders.map(rootOf)]);
  const ours = ownFolders.map(foldName);
  return [...roots]
    .filter((root) => ours.includes(foldName(root)))
    .map((root) => finding('plan/name-is-the-tools', root));
}

function checkSpace({ plan, stick, lostBytes = 0 }: PlanFacts): readonly Finding[] {
  const { freeBytesAfter, freeBytesNow: freeBytes, writeBytes } = plan;
  if (freeBytesAfter >= 0) return [];
  if (lostBytes + freeBytesAfter >= 0) {
    return [finding('plan/space-belongs-to-nobody', stick.target, { lostBytes, freeBytes, writeBytes })];
  }
  const mayBeHeld = stick.kind === 'folder' && (stick.fileSystem.startsWith('fat') || stick.fileSystem === 'exfat');
  return [
    finding('plan/does-not-fit', stick.target, { missingBytes: -freeBytesAfter, freeBytes, writeBytes, mayBeHeld }),
  ];
}

function checkFileSizes({ files }: WantedTree, { fileSystem }: StickFacts): readonly Finding[] {
  if (!fileSystem.startsWith('fat')) return [];
  return files
    .filter(({ bytes }) => bytes > fatMaxFileBytes)
    .map(({ path, bytes }) =>
      finding('plan/file-too-large', path, { bytes, fileSystem: fileSystemInWords(fileSystem) }),
    );
}

/** All root names count, and the tool's folder under both its names, because for a moment both are there. */
function checkRootSlots({ items }: LayoutPlan, { rootSlotsFree, target }: StickFacts): readonly Finding[] {
  const names = new Set(
    items.filter(({ action }) => action === 'write' || action === 'make-folder').map(({ path }) => rootOf(path)),
  );
  const needed = [...names, ...ownFolders].reduce((sum, name) => sum + slotsFor(name), 0);
  const free = rootSlotsFree ?? Number.POSITIVE_INFINITY;
  return needed > free ? [finding('plan/root-full', target, { needed, free })] : [];
}

/**
 * Beside its long name every file on FAT has a short one that the driver makes up; a file of that very name cannot be
 * written then, or takes the other one's place. Only what the plan still has to make can collide.
 */
function checkShortNames({ plan: { items }, entries, stick }: PlanFacts): readonly Finding[] {
  if (!stick.fileSystem.startsWith('fat') && stick.fileSystem !== 'unknown') return [];
  const gone = new Set(
    items.flatMap(({ action, path }) => (action === 'remove' || action === 'set-aside' ? [path] : [])),
  );
  const staying = new Set(entries.map(({ path }) => path).filter((path) => !gone.has(path)));
  const made = new Set(items.flatMap(namesMade).filter((path) => !staying.has(path)));
  const plain = [...made].filter((path) => /~[0-9a-f]{1,7}(\.[^./]*)?$/i.test(path));
  if (plain.length === 0) return [];
  const inside = groupBy(new Set([...made, ...staying, ...ownFolders]), parentOf);
  return plain.flatMap((path) => {
    const long = inside.get(parentOf(path))?.find((one) => mayBeAliasOf(nameOf(path), nameOf(one)));
    return long === undefined ? [] : [finding('plan/short-names-collide', path, { long })];
  });
}

/** What could not be read again must not be written: the stick would never be ready. */
function checkRecord({ items, untouched }: LayoutPlan, { target }: StickFacts): readonly Finding[] {
  const paths = [...items.flatMap((item) => (item.action === 'set-aside' ? [item.path, item.to] : [item.path]))];
  const bytes = [...paths, ...untouched.map(({ path }) => path)].reduce((sum, path) => sum + recordedBytes(path), 0);
  if (bytes <= largestManifestBytes) return [];
  return [finding('plan/record-too-large', target, { files: paths.length, bytes, largest: largestManifestBytes })];
}

/** Paths that an item leaves on the stick, with the folders on the way; what was kept in its place lay there before. */
function namesMade(item: PlanItem): readonly string[] {
  const isMade = item.action === 'write' || item.action === 'make-folder' || item.action === 'keep';
  const path = item.action === 'set-aside' ? item.to : isMade ? item.path : '';
  const paths: string[] = [];
  for (let at = path; at !== ''; at = parentOf(at)) paths.push(at);
  return paths;
}

const nameOf = (path: string): string => path.slice(path.lastIndexOf('/') + 1);

function checkStrictRoot({ items }: LayoutPlan, rules: ModeRules): readonly Finding[] {
  if (!rules['only-these-at-root']) return [];
  const aside = items.find(({ action }) => action === 'set-aside');
  return [
    ...(aside === undefined ? [] : [finding('plan/aside-not-possible', aside.path)]),
    finding('plan/folder-beside-the-firmware', toolFolder, { folder: toolFolder }),
  ];
}

function checkOutcome({ mode, nothingToDo }: LayoutPlan, rules: ModeRules): readonly Finding[] {
  return [
    ...(rules['keeps-data'] ? [] : [finding('plan/wipes-the-panel', mode, { mode })]),
    ...(nothingToDo ? [finding('plan/nothing-to-do', toolFolder)] : []),
  ];
}
