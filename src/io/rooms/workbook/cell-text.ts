import { dateFromSerial, format, getFormatInfo, isDateFormat, isPercentFormat } from 'numfmt';

/** A cell as the sheet holds it (ECMA-376 part 1, 18.3.1.4). */
export interface RawCell {
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

/** Digits that a spreadsheet keeps of a number (IEEE 754 double; 18.3.1.4 leaves it to the program, all of them keep 15). */
const keptDigits = 15;

/**
 * The text of a cell: what a person reads in it, but numbers in all their digits and dates as ISO 8601. Strings are looked up by
 * the caller. What the number cannot tell any more is said by the flaw.
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

/** Leading zeros and fixed texts such as `"QH-"00000` belong to the number; groups of thousands, decimals and exponents do not. */
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
