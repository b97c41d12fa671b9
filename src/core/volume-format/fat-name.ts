/** A file on FAT is at most this long: its size is a 32-bit number (Microsoft FAT specification 1.03, DIR_FileSize). */
export const fatMaxFileBytes = 0xffff_ffff;

/** Linux Documentation/filesystems/vfat.rst: a long-name slot holds 13 UTF-16 units, a name at most 255. */
const unitsPerSlot = 13;
const maxUnits = 255;

/** Microsoft, "Naming Files, Paths, and Namespaces": reserved characters, reserved names, trailing space or period. */
const reservedCharacter = /[<>:"/\\|?*\u0000-\u001f]/u;
const reservedName = /^(con|prn|aux|nul|com[1-9\u00b9\u00b2\u00b3]|lpt[1-9\u00b9\u00b2\u00b3])(\.|$)/iu;

/** Why one part of a path cannot be held by FAT or exFAT as it is spelled; undefined where it can. */
export function fatNameProblem(name: string): string | undefined {
  if (name === '') return 'a name is empty';
  if (name === '.' || name === '..') return 'it is not a name but a direction';
  const bad = reservedCharacter.exec(name)?.[0];
  if (bad !== undefined) return `it contains ${printable(bad)}`;
  if (name.endsWith('.')) return 'it ends with a period';
  if (name.endsWith(' ')) return 'it ends with a space';
  if (reservedName.test(name)) return 'it is a device name of Windows';
  if (name.length > maxUnits) return `it is ${name.length} characters long; ${maxUnits} fit`;
  return /\p{Surrogate}/u.test(name) ? 'it contains half a character' : undefined;
}

/**
 * Names that fold alike are one name to somebody who reads FAT or exFAT, so only one of them can be in a folder. Each
 * UTF-16 unit is upper-cased by itself (exFAT specification 7.2: the up-case table has one unit for each), so that no
 * letter becomes two; and no letter beyond ASCII becomes one of ASCII, as in the tables in use (common practice: FatFs
 * and Windows agree). For questions of collision only: what is known, recorded or ours is what has exactly that
 * spelling.
 */
export const foldName = (path: string): string =>
  /^[\x00-\x7f]*$/.test(path) ? path.toUpperCase() : path.split('').map(foldUnit).join('');

function foldUnit(unit: string): string {
  const upper = unit.toUpperCase();
  if (upper.length !== 1) return greekCapital(unit);
  return unit > '\x7f' && upper <= '\x7f' ? unit : upper;
}

/**
 * Greek with a small iota has a capital of one unit too (UnicodeData, simple upper case), which JavaScript only knows
 * the other way round.
 */
function greekCapital(unit: string): string {
  if (unit < '\u1f80' || unit > '\u1fff') return unit;
  const capitals = [8, 9].map((step) => String.fromCharCode(unit.charCodeAt(0) + step));
  return capitals.find((capital) => capital.toLowerCase() === unit) ?? unit;
}

const printable = (character: string): string =>
  character >= ' ' ? character : `the control character ${character.charCodeAt(0)}`;

/**
 * Directory slots of 32 bytes that a new name takes at most: its short slot, and one for each 13 UTF-16 units where it
 * is not an upper-case 8.3 name. (Some writers store an all-lower-case 8.3 name in one slot.)
 */
export function slotsFor(name: string): number {
  const isShort = /^[A-Z0-9!#$%&'()\-@^_`{}~]{1,8}(\.[A-Z0-9!#$%&'()\-@^_`{}~]{1,3})?$/.test(name);
  return isShort ? 1 : 1 + Math.ceil(name.length / unitsPerSlot);
}

/** Clusters of a new folder that will hold NAMES: the two dot slots come with it (FAT specification, section 6.5). */
export function folderClustersFor(names: readonly string[], clusterBytes: number): number {
  const slots = names.reduce((sum, name) => sum + slotsFor(name), 2);
  return Math.max(1, Math.ceil((slots * 32) / clusterBytes));
}

/**
 * A short name has at most 8 letters and 3 behind its dot, of these signs (Microsoft FAT specification 1.03, "Short
 * Directory Entries").
 */
const shortShape = /^[A-Z0-9!#$%&'()\-@^_`{}~]{1,8}(\.[A-Z0-9!#$%&'()\-@^_`{}~]{1,3})?$/;

/**
 * What drivers make up for a long name: the start of it, `~` and a number, in hexadecimal where many are alike (FatFs,
 * gen_numname: up to seven digits; Linux, fs/fat/namei_vfat.c, and Windows: two letters, four digits of a hash, `~` and
 * one digit).
 */
const aliasShape = /~[0-9A-F]{1,7}$/;

/**
 * Whether some driver may have given LONG, which is in the same folder, exactly the short name that PLAIN is: then
 * PLAIN cannot be made beside it. Which number a driver takes depends on the driver and on what it finds, so that only
 * the start and the ending count.
 */
export function mayBeAliasOf(plain: string, long: string): boolean {
  const upper = plain.toUpperCase();
  // A letter beyond ASCII may be one of the driver's code page, and stay in a short name.
  if (!shortShape.test(upper.replace(/[\u0080-\uffff]/g, '_')) || shortShape.test(long.toUpperCase())) return false;
  const [body = '', ending = ''] = upper.split('.');
  if (!aliasShape.test(body)) return false;
  if (/^ *\./.test(long)) return true; // mtools leaves nothing but the number of `.hidden`, others its first letters
  const kept = long
    .toUpperCase()
    .replace(/^[. ]+/, '')
    .replaceAll(' ', '');
  const first = kept[0] ?? '';
  const startsAlike = isGuessable(first) ? signOf(first) === body[0] : true;
  const dot = kept.lastIndexOf('.');
  const tail = dot < 0 ? '' : kept.slice(dot + 1, dot + 4);
  const endsAlike = [...tail].every(isGuessable) ? [...tail].map(signOf).join('') === ending : true;
  return startsAlike && endsAlike;
}

/** Signs beyond ASCII become whatever the driver's code page has for them. */
const isGuessable = (sign: string): boolean => /^[\x20-\x7e]$/.test(sign);
const signOf = (sign: string): string => (/[+,;=[\]]/.test(sign) ? '_' : sign);
