import { type Finding, finding } from '../../findings/finding.ts';
import type { Manifest } from '../../model/manifest.ts';
import type { StickEntry } from '../../model/stick-facts.ts';
import { isJunk, isPanelTrace } from '../../plan/classify-contents.ts';
import { foldName, parentOf, recordNames, rootOf, toolFolder } from '../../plan/stick-names.ts';

/**
 * Missing, of another size, and unexpected: three findings (RFC 8493 section 3). What a panel or a desktop system leaves
 * is told apart from what a person put there.
 */
export function checkPresence(target: string, manifest: Manifest, entries: readonly StickEntry[]): readonly Finding[] {
  return [...checkFiles(manifest, entries), ...checkUnexpected(target, manifest, entries)];
}

function checkFiles(manifest: Manifest, entries: readonly StickEntry[]): readonly Finding[] {
  const present = new Map(entries.filter(({ kind }) => kind === 'file').map(({ path, bytes }) => [path, bytes]));
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
  const traces = unknown.filter((path) => !path.includes('/') && isPanelTrace(path));
  const junk = unknown.filter((path) => isJunk(path.slice(path.lastIndexOf('/') + 1)));
  const others = unknown.filter((path) => !traces.includes(path) && !junk.includes(path));
  const inRoot = [...traces, ...junk].filter((path) => !path.includes('/'));
  return [
    ...(others.length > 0 ? [finding('verify/unexpected', target, { paths: others })] : []),
    ...(traces.length > 0 ? [finding('verify/visited-a-panel', target, { paths: traces })] : []),
    ...(junk.length > 0 ? [finding('verify/system-junk', target, { paths: junk })] : []),
    ...(strict && inRoot.length > 0 ? [finding('verify/root-not-empty', target, { paths: inRoot })] : []),
  ];
}

/** Entries that the manifest does not account for; of an unknown folder only the folder itself. */
function topmostUnknown(manifest: Manifest, entries: readonly StickEntry[]): readonly string[] {
  const files = new Set(manifest.files.map(({ path }) => foldName(path)));
  const folders = new Set<string>([foldName(toolFolder)]);
  for (const { path } of manifest.files) {
    for (let parent = parentOf(path); parent !== ''; parent = parentOf(parent)) folders.add(foldName(parent));
  }
  for (const path of manifest.folders) folders.add(foldName(path));
  for (const name of recordNames) files.add(foldName(`${toolFolder}/${name}`));
  const stayed = new Set(
    [...manifest.untouched.map(({ path }) => path), ...manifest.setAside.map(({ to }) => rootOf(to))].map(foldName),
  );
  return entries
    .filter(({ path, kind }) => {
      const folded = foldName(path);
      const parent = parentOf(folded);
      const known = (kind === 'file' ? files : folders).has(folded) || stayed.has(folded) || stayed.has(rootOf(folded));
      return !known && (parent === '' || folders.has(parent));
    })
    .map(({ path }) => path);
}
