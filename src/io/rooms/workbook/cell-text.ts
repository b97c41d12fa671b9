import { dateFromSerial, format, getFormatFromId, getFormatInfo, isDateFormat, isPercentFormat } from 'numfmt';
import { type Parts, readXml, tooLarge } from './open-parts.ts';

/** A cell as the sheet holds it (ECMA-376 part 1, 18.3.1.4). */
interface RawCell {
  /** `n` number, `s` shared string, `str` text of a formula, `inlineStr`, `b`, `e`, `d`. */
  readonly type: string;
  readonly value: string;
  readonly formula: string | undefined;
  readonly format: string;
}

export interface CellText {
  readonly text: string;
  readonly flaw?: 'date' | 'decimal' | 'digits-lost' | 'no-result';
}

/**
 * Digits that a spreadsheet keeps of a number (IEEE 754 double; 18.3.1.4 leaves it to the program, all of them keep
 * 15).
 */
const keptDigits = 15;

/**
 * The text of a cell: what a person reads in it, but numbers in all their digits and dates as ISO 8601. Strings are
 * looked up by the caller. What the number cannot tell any more is said by the flaw.
 */
export function cellText(cell: RawCell, from1904: boolean): CellText {
  if (cell.value === '' && cell.formula !== undefined && cell.type !== 'str') {
    return { text: `=${cell.formula}`, flaw: 'no-result' };
  }
  switch (cell.type) {
    case 'b':
      return { text: cell.value === '1' || cell.value === 'true' ? 'TRUE' : 'FALSE' };
    case 'd':
      return { text: cell.value.replace(/T00:00:00(\.0*)?Z?$/, ''), flaw: 'date' };
    case 'n':
      return cell.value === '' ? { text: '' } : numberText(cell, from1904);
    default:
      return { text: cell.value };
  }
}

function numberText({ value, format: code }: RawCell, from1904: boolean): CellText {
  const number = Number(value);
  if (!Number.isFinite(number)) return { text: value };
  if (isDateFormat(code)) return dateText(number, code, from1904);
  if (Number.isInteger(number)) {
    // Other writers than spreadsheets may have put down more digits than a number holds.
    const digits = /^-?\d{1,40}$/.test(value) ? value : BigInt(number).toString();
    if (digits.replace('-', '').length > keptDigits) return { text: digits, flaw: 'digits-lost' };
    return { text: isShownAsFormatted(code) ? shown(code, number, digits) : digits };
  }
  const plain = String(Number(number.toPrecision(keptDigits)));
  if (isPercentFormat(code)) return { text: shown(code, number, plain) };
  // 2.1 shown as 2.10 says how many decimals are meant.
  const displayed = getFormatInfo(code).type === 'number' ? shown(code, number, plain) : plain;
  return Number(displayed) === Number(plain) && displayed !== plain
    ? { text: displayed }
    : { text: plain, flaw: 'decimal' };
}

/**
 * Leading zeros and fixed texts such as `"QH-"00000` belong to the number; groups of thousands, decimals and exponents
 * do not.
 */
function isShownAsFormatted(code: string): boolean {
  const info = getFormatInfo(code);
  return info.type === 'number' && info.maxDecimals === 0 && /[0"\\]/.test(code) && code !== '0';
}

function shown(code: string, number: number, otherwise: string): string {
  try {
    return format(code, number).trim();
  } catch {
    return otherwise;
  }
}

function dateText(number: number, code: string, from1904: boolean): CellText {
  const serial = from1904 ? number + 1462 : number;
  if (serial < 1 || serial > 2_958_466) return { text: shown(code, number, String(number)), flaw: 'date' };
  const [year, month, day, hour, minute] = dateFromSerial(serial);
  const pad = (part: number, digits = 2): string => String(part).padStart(digits, '0');
  const date = `${pad(year, 4)}-${pad(month)}-${pad(day)}`;
  return { text: hour === 0 && minute === 0 ? date : `${date} ${pad(hour)}:${pad(minute)}`, flaw: 'date' };
}

/**
 * The number format of each cell style (ECMA-376 part 1, 18.8.10 cellXfs, 18.8.30 numFmt); a cell's `s` counts into it.
 */
export async function readFormats(parts: Parts, part: string | undefined): Promise<readonly string[]> {
  const pieces = part === undefined ? undefined : parts.open(part);
  if (part === undefined || pieces === undefined) return [];
  const codes = new Map<number, string>();
  const ids: number[] = [];
  let inCellFormats = false;
  await readXml(part, pieces, {
    open: (local, { numFmtId, formatCode }) => {
      if (local === 'numFmt' && formatCode !== undefined) codes.set(Number(numFmtId), formatCode);
      if (local === 'cellXfs') inCellFormats = true;
      if (local === 'xf' && inCellFormats) ids.push(Number(numFmtId ?? 0));
    },
    close: (local) => {
      if (local === 'cellXfs') inCellFormats = false;
    },
  });
  return ids.map((id) => codes.get(id) ?? builtIn(id));
}

/**
 * Formats that every workbook has without saying so (18.8.30); what a country adds to them is taken as general or a
 * date.
 */
function builtIn(id: number): string {
  // 27 to 36 and 50 to 58 are dates of East Asian locales, which the library knows as a date in its own way.
  const isKnown = (id >= 0 && id <= 58) || (id >= 67 && id <= 81);
  return isKnown ? getFormatFromId(id) : 'General';
}

const mostStrings = 2_000_000;

/** The shared strings in their order (ECMA-376 part 1, 18.4.9): runs joined, phonetic hints left out. */
export async function readSharedStrings(parts: Parts, part: string | undefined): Promise<readonly string[]> {
  const pieces = part === undefined ? undefined : parts.open(part);
  if (part === undefined || pieces === undefined) return [];
  const strings: string[] = [];
  const text = collectText();
  await readXml(part, pieces, {
    open: (local) => {
      if (local === 'si') text.clear();
      text.open(local);
    },
    close: (local) => {
      text.close(local);
      if (local !== 'si') return;
      if (strings.length >= mostStrings) throw tooLarge(`more than ${mostStrings.toLocaleString('en-US')} texts`);
      strings.push(text.value());
    },
    text: text.text,
  });
  return strings;
}

/** Gathers the `t` elements of a string, also of an inline one. */
export function collectText() {
  let value = '';
  let inText = 0;
  let inPhonetic = 0;
  return {
    clear: () => {
      value = '';
    },
    open: (local: string) => {
      if (local === 't') inText++;
      if (local === 'rPh') inPhonetic++;
    },
    close: (local: string) => {
      if (local === 't') inText--;
      if (local === 'rPh') inPhonetic--;
    },
    text: (text: string) => {
      if (inText > 0 && inPhonetic === 0) value += text;
    },
    value: () => unescapeText(value),
  };
}

/** `_x000D_` stands for a character that XML cannot hold, `_x005F_` for an underscore (ECMA-376 part 1, 22.9.2.19). */
export const unescapeText = (text: string): string =>
  text.replace(/_x([0-9A-Fa-f]{4})_/g, (_, code: string) => String.fromCharCode(Number.parseInt(code, 16)));
