import { leftBySystem } from '../../contents/left-by-systems.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { parentOf, parentsOf, rootOf, stickRecordPaths, toolFolder } from '../../manifest/stick-names.ts';
import type { Manifest } from '../../model/manifest.ts';
import { isPlainFile, type StickEntry } from '../../model/stick-facts.ts';

/**
 * Missing, of another size, and unexpected: three findings (RFC 8493 section 3). What a panel or a desktop system
 * leaves is told apart from what a person put there.
 */
export function checkPresence(target: string, manifest: Manifest, entries: readonly StickEntry[]): readonly Finding[] {
  return [...checkFiles(manifest, entries), ...checkUnexpected(target, manifest, entries)];
}

function checkFiles(manifest: Manifest, entries: readonly StickEntry[]): readonly Finding[] {
  const present = new Map(entries.filter(isPlainFile).map(({ path, bytes }) => [path, bytes]));
  return manifest.files.flatMap(({ path, bytes }) => {
    const got = present.get(path);
    if (got === undefined) return [finding('verify/missing', path, { bytes })];
    if (got === bytes) return [];
    return [finding('verify/changed', path, { what: 'size', expected: String(bytes), got: String(got) })];
  });
}

function checkUnexpected(target: string, manifest: Manifest, entries: readonly StickEntry[]): readonly Finding[] {
  const strict = manifest.family?.onlyTheseAtRoot === true;
  const unknown = topmostUnknown(manifest, entries);
  const made = (path: string): string | undefined => leftBySystem(path.slice(path.lastIndexOf('/') + 1)).kind;
  const traces = unknown.filter((path) => !path.includes('/') && made(path) === 'panel-mark');
  const junk = unknown.filter((path) => made(path) === 'desk-mark' || made(path) === 'desk-bin');
  const others = unknown.filter((path) => !traces.includes(path) && !junk.includes(path));
  const inRoot = [...traces, ...junk].filter((path) => !path.includes('/'));
  return [
    ...(others.length > 0 ? [finding('verify/unexpected', target, { paths: others })] : []),
    ...(traces.length > 0 ? [finding('verify/visited-a-panel', target, { paths: traces })] : []),
    ...(junk.length > 0 ? [finding('verify/system-junk', target, { paths: junk })] : []),
    ...(strict && inRoot.length > 0 ? [finding('verify/root-not-empty', target, { paths: inRoot })] : []),
  ];
}

/**
 * Entries that the manifest does not account for; of an unknown folder only the folder itself. Known is what has
 * exactly the spelling that is recorded, on every kind of volume, and what stayed beside the firmware only while it has
 * as many bytes as then.
 */
function topmostUnknown(manifest: Manifest, entries: readonly StickEntry[]): readonly string[] {
  const files = new Set(manifest.files.map(({ path }) => path));
  for (const path of stickRecordPaths) files.add(path);
  const folders = new Set([toolFolder, ...manifest.folders]);
  for (const { path } of manifest.files) for (const parent of parentsOf(path)) folders.add(parent);
  const stayed = stayedRoots(manifest, entries);
  const aside = new Set(manifest.setAside.map(({ to }) => to));
  const asideFolders = new Set([...aside].flatMap(parentsOf));
  return entries
    .filter(({ path, kind }) => {
      if (stayed.has(rootOf(path)) || [path, ...parentsOf(path)].some((one) => aside.has(one))) return false;
      if (kind === 'folder' && asideFolders.has(path)) return false;
      const parent = parentOf(path);
      return (
        !(kind === 'file' ? files : folders).has(path) &&
        (parent === '' || folders.has(parent) || asideFolders.has(parent))
      );
    })
    .map(({ path }) => path);
}

/** Roots of what stayed beside the firmware, and is as large as it was. */
function stayedRoots({ untouched }: Manifest, entries: readonly StickEntry[]): ReadonlySet<string> {
  const sizes = new Map<string, number>();
  for (const { path, bytes } of entries) sizes.set(rootOf(path), (sizes.get(rootOf(path)) ?? 0) + bytes);
  return new Set(untouched.filter(({ path, bytes }) => sizes.get(path) === bytes).map(({ path }) => path));
}
