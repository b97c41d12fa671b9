import { isWithin } from '../../contents/clear-items.ts';
import { firmwareSign, isPutAway, namesOf } from '../../contents/firmware-signs.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { rootOf, stickRecordNames, toolFolder } from '../../manifest/stick-names.ts';
import type { Manifest } from '../../model/manifest.ts';
import { type FileGlance, isPlainFile, type StickEntry } from '../../model/stick-facts.ts';

/**
 * Everything on the stick that the manifest does not name: it is looked into, wherever it lies and whatever its name
 * is.
 */
export function unnamedFiles({ files }: Manifest, entries: readonly StickEntry[]): readonly StickEntry[] {
  const named = new Set([...files.map(({ path }) => path), ...stickRecordNames.map((name) => `${toolFolder}/${name}`)]);
  return entries.filter((entry) => isPlainFile(entry) && !named.has(entry.path));
}

/** What a panel could take for firmware although the manifest does not name it, and what could not be looked into. */
export function checkFirmware(
  target: string,
  manifest: Manifest,
  glances: ReadonlyMap<string, FileGlance>,
): readonly Finding[] {
  const names = namesOf(manifest);
  const aside = new Set(manifest.setAside.map(({ to }) => to));
  const stayed = new Set([...manifest.untouched.map(({ path }) => path), ...[...aside].map(rootOf)]);
  const signed = [...glances].flatMap(([path, glance]) => {
    const sign = firmwareSign(path, glance, names);
    return sign === undefined ? [] : [{ path, sign }];
  });
  const putAway = [...glances.keys()].filter((path) => isPutAway(path) && stayed.has(rootOf(path)));
  const others = signed.filter(({ path }) => !putAway.includes(path));
  const underOwnName = others.filter(({ path }) => isWithin(path, aside));
  const inside = others.filter(({ path }) => !isWithin(path, aside));
  const unseen = [...glances].filter(([, { whole }]) => !whole).map(([path]) => path);
  return [
    ...splitByOverride(inside, manifest).map(({ found, because }) => ({
      ...finding('verify/firmware-inside', target, { found }),
      ...(because === undefined ? {} : { acceptedBecause: because }),
    })),
    ...(underOwnName.length > 0 ? [finding('verify/firmware-aside-by-name', target, { found: underOwnName })] : []),
    ...(putAway.length > 0 ? [finding('verify/firmware-set-aside', target, { paths: putAway })] : []),
    ...(unseen.length > 0 ? [finding('verify/not-looked-into', target, { paths: unseen })] : []),
  ];
}

type Signed = { readonly path: string; readonly sign: string };

/** A person who accepted other firmware on the stick accepted what stayed there then, and nothing that came later. */
function splitByOverride(
  inside: readonly Signed[],
  { overrides, untouched }: Manifest,
): readonly { readonly found: readonly Signed[]; readonly because: string | undefined }[] {
  const because = overrides.find(
    ({ code }) => code === 'stick/other-firmware' || code === 'stick/firmware-inside',
  )?.because;
  const stayed = new Set(untouched.map(({ path }) => path));
  const isAccepted = ({ path }: Signed): boolean => because !== undefined && stayed.has(rootOf(path));
  return [
    { found: inside.filter((one) => !isAccepted(one)), because: undefined },
    { found: inside.filter(isAccepted), because },
  ].filter(({ found }) => found.length > 0);
}
