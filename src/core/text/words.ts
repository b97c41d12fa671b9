import type { Numeral } from '../model/build.ts';

const units = ['bytes', 'KB', 'MB', 'GB', 'TB'] as const;

/** `31.9 GB (31,914,983,424 bytes)`: decimal units, as sticks are sold, and the exact number beside the rounded one. */
export function sizeInWords(bytes: number): string {
  const exact = `${Math.abs(bytes).toLocaleString('en-US')} bytes`;
  return Math.abs(bytes) < 1000 ? exact : `${roundedSize(bytes)} (${exact})`;
}

/** `31.9 GB`. */
export function roundedSize(bytes: number): string {
  let value = Math.abs(bytes);
  let unit = 0;
  while (value >= 999.5 && unit < units.length - 1) {
    value /= 1000;
    unit++;
  }
  return `${unit === 0 ? Math.round(value) : value.toFixed(value < 10 ? 2 : value < 100 ? 1 : 0)} ${units[unit]}`;
}

/** `a, b, c and 4 more`. */
export function listInWords(items: readonly string[], most = 4): string {
  if (items.length <= most) return items.join(', ');
  return `${items.slice(0, most).join(', ')} and ${items.length - most} more`;
}

/** `1 file`, `2 files`. */
export const countInWords = (count: number, one: string, many = `${one}s`): string =>
  `${count.toLocaleString('en-US')} ${count === 1 ? one : many}`;

/** `a, b c, d`, over several lines: a long list of words that nobody wants to read a line each. */
export const wordList = (text: string): readonly string[] =>
  text
    .split(',')
    .map((word) => word.trim())
    .filter((word) => word !== '');

/** Items by their key, groups and items in the order of their first appearance. */
export function groupBy<Item, Key>(items: Iterable<Item>, keyOf: (item: Item) => Key): Map<Key, Item[]> {
  const groups = new Map<Key, Item[]>();
  for (const item of items) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [item]);
    else group.push(item);
  }
  return groups;
}

/** As much of a value from a package as a person reads in a message. */
const longest = 160;

/** A value out of a package made fit for a message: cut to length, and without characters that act on a terminal. */
export function plainText(text: string): string {
  const printable = text.slice(0, longest).replace(/[\p{Cc}\p{Cf}\u2028\u2029]/gu, '\uFFFD');
  return text.length > longest ? `${printable}… (${text.length} characters)` : printable;
}

/** Several values: the first ten, and how many more there are. */
export function plainList(texts: readonly string[]): readonly string[] {
  const shown = texts.slice(0, 10).map(plainText);
  return texts.length > shown.length ? [...shown, `and ${texts.length - shown.length} more`] : shown;
}

export const toNumeral = (digits: string): Numeral => digits.replace(/^0+(?=\d)/, '');

/** Below zero where `a` is the smaller number; of any length. */
export function compareNumerals(a: Numeral, b: Numeral): number {
  return a.length - b.length || compareText(a, b);
}

/** By code unit, as ASCII sort order is. */
export function compareText(a: string, b: string): number {
  if (a === b) return 0;
  return a < b ? -1 : 1;
}

/** File names in the order a person looks for them: as text, but `r.746` before `r.1717`. */
export function compareNames(a: string, b: string): number {
  const [ones, others] = [runsOf(a), runsOf(b)];
  const at = ones.findIndex((one, index) => one !== others[index]);
  const [one = '', other = ''] = [ones[at], others[at]];
  const areNumbers = /^\d/.test(one) && /^\d/.test(other);
  return (areNumbers && compareNumerals(toNumeral(one), toNumeral(other))) || compareText(a, b);
}

const runsOf = (name: string): readonly string[] => name.match(/\d+|\D+/g) ?? [];

/** PowerShell takes typographic quotation marks for plain ones (about_Quoting_Rules): these are all an apostrophe. */
const apostrophes = /['\u2018-\u201b]/g;
/** What PowerShell evaluates between double quotation marks, or ends there. */
const evaluated = /[$`"\u201c-\u201e]/;

/**
 * TEXT as one literal of PowerShell, whatever it holds: nothing in it is evaluated, and what would end it is doubled.
 */
export const powerShellLiteral = (text: string): string => `'${text.replace(apostrophes, '$&$&')}'`;

/**
 * TEXT as one word of a command line, behind what comes BEFORE it: one spelling where sh, PowerShell and cmd read the
 * same, else one for each. Windows PowerShell hands a quotation mark on to a program as it is, where it would part
 * words (about_Parsing: Passing arguments to native commands); so it goes with a backslash, as in cmd.
 */
export function quotedInShells(before: string, text: string): string {
  const sh = /["$`!\\]/.test(text) ? `'${text.replaceAll("'", "'\\''")}'` : `"${text}"`;
  const powerShell = evaluated.test(text) ? powerShellLiteral(text.replaceAll('"', '\\"')) : `"${text}"`;
  const cmd = `"${text.replaceAll('"', '\\"')}"`;
  if (sh === cmd && powerShell === cmd) return `In sh, PowerShell and cmd:\n  ${before}${sh}`;
  return `\n  sh          ${before}${sh}\n  PowerShell  ${before}${powerShell}\n  cmd         ${before}${cmd}`;
}

/**
 * A word that a POSIX shell, cmd and PowerShell all read as it is: double quotes where those change nothing inside. A
 * word that needs single ones and holds one loses or keeps it double, by the shell; in none is a part of it run. A
 * backslash at its end would take the quotation mark with it on Windows (CommandLineToArgvW), so it is doubled.
 */
export function quoteWord(word: string): string {
  if (/^[\w./:@%+=,-]+$/.test(word) && !word.includes('%')) return word;
  return evaluated.test(word) || word.includes('!') ? powerShellLiteral(word) : `"${word.replace(/\\+$/, '$&$&')}"`;
}

/** `412,334,112 bytes (412 MB)`. */
export const exactSize = (bytes: number): string =>
  bytes < 1000 ? `${bytes} bytes` : `${bytes.toLocaleString('en-US')} bytes (${roundedSize(bytes)})`;
