import { isSetAsideFolder, rootOf } from '../manifest/stick-names.ts';
import type { Manifest } from '../model/manifest.ts';
import { modeTraits } from '../model/mode.ts';
import type { FileGlance } from '../model/stick-facts.ts';
import { foldName } from '../volume-format/fat-name.ts';

/** What families, or a manifest, say of the names that firmware has. */
export interface FirmwareNames {
  /** True for a file name that a panel takes for a package. */
  readonly isPackageName: (name: string) => boolean;
  /** True for a path that a panel wants at the root of a recovery stick. */
  readonly isRecoveryFile: (path: string) => boolean;
  /** True where all that some panel wants for a recovery is among these paths. */
  readonly isRecoveryTree: (paths: readonly string[]) => boolean;
}

/** Endings under which firmware and archives travel (common practice, no source). */
const firmwareEndings = /\.(zip|img|bin|pkg|upd|fw|rom|tar|gz|tgz|xz|7z|rar|iso|part|crdownload)$/i;

export const looksLikeFirmware = (name: string): boolean => firmwareEndings.test(name);

/** In an update package (AOSP, OTA tools page; recovery install.cpp), also where somebody zipped its folder. */
const packageParts = /(^|\/)META-INF\/com\/(android\/metadata(\.pb)?|google\/android\/(update-binary|updater-script))$/;

/**
 * Images and updates, of which documents, apps and programs hold none under these endings (common practice, no source).
 */
const packedImages = /\.(img|upd|fw|pkg)$/i;

/**
 * Why a panel that comes upon this file could take it for firmware, in the words of a person; undefined where it could
 * not. The one judgement of that, wherever the file lies: by its name, by its first bytes, and by what lies in it where
 * it is an archive. A zip of photos, a document, an app for Android or a Java program has none of these signs.
 */
export function firmwareSign(path: string, glance: FileGlance | undefined, names: FirmwareNames): string | undefined {
  if (names.isPackageName(nameOf(path))) return 'the name of a package';
  if (looksLikeFirmware(path) && suffixesOf(path).some(names.isRecoveryFile)) return 'a name that recovery looks for';
  return glance === undefined ? undefined : signWithin(glance, names);
}

function signWithin(glance: FileGlance, names: FirmwareNames): string | undefined {
  if (glance.image !== undefined) return glance.image;
  if (glance.names.some((name) => packageParts.test(name) || name === 'payload.bin'))
    return 'an Android update package';
  const named = glance.names.find((name) => names.isPackageName(nameOf(name)));
  if (named !== undefined) return `an archive around ${nameOf(named)}`;
  if (names.isRecoveryTree(glance.names)) return 'an archive with all that a recovery wants';
  const packed = glance.names.find((name) => packedImages.test(name));
  if (packed !== undefined) return `an archive with ${nameOf(packed)}`;
  for (const inner of glance.inner) {
    const sign = signWithin(inner, names);
    if (sign !== undefined) return `an archive around ${nameOf(inner.name)}: ${sign}`;
  }
  return undefined;
}

/** Endings of what panels install, of which archives are none: an archive of archives has no firmware of its own. */
const ownEndings = /\.(img|bin|pkg|upd|fw|rom)$/i;

/** True where these files of an archive, or of a tree, are themselves what a panel installs. */
export const isOwnFirmware = (paths: readonly string[]): boolean =>
  paths.some((path) => packageParts.test(path) || ownEndings.test(path));

const nameOf = (path: string): string => path.slice(path.lastIndexOf('/') + 1);

/** `a/b/c`, `b/c`, `c`: a panel may look from any folder. */
function suffixesOf(path: string): readonly string[] {
  const parts = path.split('/');
  return parts.map((_, from) => parts.slice(from).join('/'));
}

/** True where each of TESTS holds for some of PATHS, seen from any folder. */
export const holdsAll = (paths: readonly string[], tests: readonly ((path: string) => boolean)[]): boolean =>
  tests.length > 0 && tests.every((test) => paths.some((path) => suffixesOf(path).some(test)));

/**
 * What a manifest alone can say of names: the package and the files that it names, under FAT's idea of the same name.
 */
export function namesOf({ archive, files, mode }: Manifest): FirmwareNames {
  const wanted = modeTraits[mode].isExtracted ? files.map(({ path }) => path).filter(looksLikeFirmware) : [];
  const folded = new Set(wanted.map(foldName));
  return {
    isPackageName: (name) => foldName(name) === foldName(archive.name),
    isRecoveryFile: (path) => folded.has(foldName(path)),
    isRecoveryTree: (paths) => {
      const there = new Set(paths.flatMap(suffixesOf).map(foldName));
      return folded.size > 0 && [...folded].every((path) => there.has(path));
    },
  };
}

/** Added to the name of firmware that is set aside: no updater lists such an ending (common practice, no source). */
const asideEnding = '.set-aside';
const longestName = 255;

export const nameSetAside = (name: string): string =>
  `${name.slice(0, longestName - asideEnding.length)}${asideEnding}`;

export const withoutPutAway = (path: string): string => path.slice(0, -asideEnding.length);

/** Firmware that the tool put away itself, under a name that nobody takes for firmware. */
export const isPutAway = (path: string): boolean => isSetAsideFolder(rootOf(path)) && path.endsWith(asideEnding);
