/** The names that the tool itself uses on a stick. Something is the tool's own only under exactly these spellings. */
import { foldName } from '../volume-format/fat-name.ts';
import type { NameClass } from '../volume-format/find-cut-names.ts';

/** Holds the manifest, the checksum list and the note; lower case, so that on FAT it takes more than one slot. */
export const toolFolder = 'stickwright';

/**
 * Every firmware file is written below this folder first. An upper-case 8.3 name takes one directory slot, so the hole
 * it leaves cannot take the tool folder's long name, and the firmware's entries stay first in the root.
 */
export const stagingFolder = 'SW-PART.TMP';

/**
 * The record is made here while the firmware is still staged; it then becomes the tool's folder, by one rename where a
 * driver can be trusted with that.
 */
export const stickRecordFolder = 'SW-DONE.TMP';

/** All that a proof of the free space writes lies in here, and the folder goes when the proof is over. */
export const proofFolder = 'STICKWRIGHT-PROOF';

export const manifestName = 'manifest.json';

/**
 * What a manifest is called until the stick is ready. Giving it its own name is the last write of a preparation: on FAT
 * one sector, which is there or is not.
 */
export const newManifestName = 'MANIFEST.NEW';

/**
 * What a withdrawn manifest is called until the next one is down: an interrupted run must still know what it was about.
 */
export const oldManifestName = 'MANIFEST.OLD';

export const checksumsName = 'checksums.sha256';
export const noteName = 'what-is-this-stick.txt';

/** The desk's signature over the manifest, where it has a key. */
export const sealName = 'seal.json';

export const stickRecordNames: readonly string[] = [manifestName, checksumsName, noteName, sealName];

/** Where the record lies when it counts; not each part is always there. */
export const stickRecordPaths: readonly string[] = stickRecordNames.map((name) => `${toolFolder}/${name}`);

export const manifestPath = `${toolFolder}/${manifestName}`;
export const sealPath = `${toolFolder}/${sealName}`;

/** The names that the tool keeps for itself at the root of a stick. */
export const ownFolders: readonly string[] = [toolFolder, stagingFolder, stickRecordFolder];

/** Where a manifest that does not count may lie, the newest first. */
export const unpublishedManifests: readonly string[] = [
  `${toolFolder}/${newManifestName}`,
  `${stickRecordFolder}/${newManifestName}`,
  `${stickRecordFolder}/${oldManifestName}`,
  `${toolFolder}/${oldManifestName}`,
];

/** What may lie in the tool's folder. */
export const toolNames: ReadonlySet<string> = new Set([...stickRecordNames, newManifestName, oldManifestName]);

/** Entries that say that a preparation was begun and not finished. */
export const isUnfinishedWork = (path: string): boolean =>
  path === stagingFolder || path === stickRecordFolder || unpublishedManifests.includes(path);

const ownWork = [stagingFolder, stickRecordFolder, proofFolder, ...unpublishedManifests].map(foldName);

/** What a preparation makes and renames: a cut can leave these half made, or under two names. */
export function cutClassOf(path: string): NameClass {
  const folded = foldName(path);
  if (ownWork.some((own) => folded === own || folded.startsWith(`${own}/`))) return 'work';
  return isSetAsideFolder(rootOf(folded).replace(/^SET-ASIDE/, 'set-aside')) ? 'copy' : 'other';
}

const record = [...stickRecordPaths, ...unpublishedManifests].map(foldName);
export const isInRecord = (path: string): boolean => record.includes(foldName(path));

/** `set-aside-20261125T073000Z`: ISO 8601 basic form, because FAT allows no colon. Never a name that `taken` holds. */
export function setAsideFolder(at: string, taken: ReadonlySet<string>): string {
  const first = `set-aside-${at.replace(/[-:]|\.\d+/g, '')}`;
  let name = first;
  for (let next = 2; taken.has(foldName(name)); next++) name = `${first}-${next}`;
  return name;
}

export const isSetAsideFolder = (name: string): boolean => /^set-aside-\d{8}T\d{6}Z(-\d+)?$/.test(name);

export const rootOf = (path: string): string => path.split('/', 1)[0] ?? path;

export const parentOf = (path: string): string => path.slice(0, Math.max(0, path.lastIndexOf('/')));

/** Every folder on the way to PATH, the root's own first. */
export function parentsOf(path: string): readonly string[] {
  const parents: string[] = [];
  for (let parent = parentOf(path); parent !== ''; parent = parentOf(parent)) parents.unshift(parent);
  return parents;
}

/** Without the characters that people misread for one another: O 0 I 1 S 5 B 8 Z 2 G 6 Q U V. */
const alphabet = 'ACDEFHJKLMNPRTWXY3479';

/**
 * `K7M-R4X`: about 86 million codes, enough that no desk meets one twice. PICK gives a whole number from 0 to below.
 */
export function makeStickCode(pick: (below: number) => number): string {
  const characters = Array.from({ length: 6 }, () => alphabet[pick(alphabet.length)]).join('');
  return `${characters.slice(0, 3)}-${characters.slice(3)}`;
}
