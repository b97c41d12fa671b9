/** The names that the tool itself uses on a stick. */

/** Holds the manifest, the checksum list and the note; lower case, so that on FAT it takes more than one slot. */
export const toolFolder = 'stickwright';

/**
 * Everything is written below this folder first. An upper-case 8.3 name takes one directory slot, so the hole it leaves
 * cannot take the tool folder's long name, and the firmware's entries stay first in the root.
 * Renaming it to `stickwright` is the last write of a preparation: that is what makes the manifest appear.
 */
export const stagingFolder = 'SW-PART.TMP';

export const manifestName = 'manifest.json';
export const checksumsName = 'checksums.sha256';
export const noteName = 'what-is-this-stick.txt';

export const recordNames: readonly string[] = [manifestName, checksumsName, noteName];

export const manifestPath = `${toolFolder}/${manifestName}`;

/** `set-aside-20261125T073000Z`: ISO 8601 basic form, because FAT allows no colon. */
export const setAsideFolder = (at: string): string => `set-aside-${at.replace(/[-:]|\.\d+/g, '')}`;

export const isSetAsideFolder = (name: string): boolean => /^set-aside-\d{8}T\d{6}Z$/i.test(name);

/** Two names that fold alike are one name to FAT and exFAT: case and Unicode form do not count. */
export const foldName = (path: string): string => path.normalize('NFC').toUpperCase();

export const rootOf = (path: string): string => path.split('/', 1)[0] ?? path;

export const parentOf = (path: string): string => path.slice(0, Math.max(0, path.lastIndexOf('/')));
