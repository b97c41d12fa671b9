import { foldName } from '../../volume-format/fat-name.ts';

/**
 * What systems leave on a stick, by name, with who says so. A name proves little: nothing that holds bytes of its own is
 * deleted because of its name alone.
 */

const folded = (...names: readonly string[]): ReadonlySet<string> => new Set(names.map(foldName));

/** AOSP vold, fs/Vfat.cpp, Mount: made empty on every FAT volume; fsck_msdos puts recovered chains in it, named by their first cluster. */
export const lostFolder = foldName('LOST.DIR');

/** AOSP vold, VolumeManager.cpp, setupAppDir: `Android/…` for the apps of the panel; `.android_secure` by earlier versions (common practice). */
export const appFolders = folded('Android', '.android_secure');

/** AOSP MediaProvider.java, ensureDefaultFolders: made empty, once for each volume. */
export const mediaFolders = folded(
  'Music',
  'Podcasts',
  'Ringtones',
  'Alarms',
  'Notifications',
  'Pictures',
  'Movies',
  'Download',
  'DCIM',
);

/** Folders at the root in which panels put their logs (common practice, no source). */
export const logFolders = folded(
  'log',
  'logs',
  'logcat',
  'recovery',
  'tombstones',
  'anr',
  'pstore',
  'bugreports',
  'crash',
  'dump',
  'dumps',
);

/**
 * Logs, dumps and an updater's notes of how it went: `last_log` and `last_install` as AOSP recovery names them, `bugreport-…` as
 * dumpstate does, `tombstone_…` as tombstoned does, `…-ramoops` as the kernel's pstore does; the rest is common practice.
 */
const logNames: readonly RegExp[] = [
  /\.(log|logcat|dmp|dump|trace|trc|kmsg)(\.\d+)?(\.(gz|zip|bz2|xz))?$/i,
  /^(last_log|last_install|last_kmsg|kmsg|dmesg|logcat|klog|mlog)([._-][\w.-]*)?$/i,
  /^(bugreport|dumpstate|tombstone_|anr_|traces?)[\w.-]*\.?(zip|txt|pb)?$/i,
  /^(console|dmesg|pmsg|ftrace)-ramoops(-\d+)?$/i,
  /^core(\.\d+)?$/i,
  /^(update|updater|upgrade|ota|install|flash|recovery)[ _-]?(status|result|state|report|error|progress|done|ok|fail(ed)?)(\.(txt|xml|json|ini|dat))?$/i,
];

export const isLogName = (name: string): boolean => logNames.some((pattern) => pattern.test(name));

/**
 * Made by desktop systems for themselves, with nothing of a person in it: in `System Volume Information` only what Windows is
 * known to put there on a stick (names as their makers document them; common practice).
 */
export const indexFolders = folded('.fseventsd', '.Spotlight-V100');
export const windowsFolder = foldName('System Volume Information');
export const windowsNames = folded('WPSettings.dat', 'IndexerVolumeGuid', 'tracking.log');
export const indexFiles = folded('.DS_Store', 'Thumbs.db', 'desktop.ini', '.metadata_never_index');

/** What a person threw away or was working on, or what a repair found: somebody's until they say otherwise. */
const binFolders = folded(
  '.Trashes',
  '$RECYCLE.BIN',
  'RECYCLER',
  'lost+found',
  '__MACOSX',
  '.TemporaryItems',
  '.DocumentRevisions-V100',
);
export const isBinOrRepair = (name: string): boolean =>
  binFolders.has(foldName(name)) || /^\.Trash-\d+$/.test(name) || /^FOUND\.\d{3}$|^FSCK\d{4}\.REC$/i.test(name);
