import type { Mangling } from '../../findings/catalogue/room-cells.ts';
import type { RoomField } from '../../model/room.ts';

/** Short and long names of months as spreadsheets write them in the languages of heading-words.ts, without accents. */
const months =
  'jan|janv|gen|ene|sty|led|feb|fev|fevr|febr|lut|unor|mar|marz|mrz|mars|mrt|maart|apr|avr|abr|kwi|dub|may|mai|mag|mei|maj|jun|juin|giu|cze|juni|jul|juil|lug|lip|juli|aug|aout|ago|sie|srp|sep|sept|set|wrz|zar|oct|okt|ott|out|paz|rij|nov|lis|dec|dez|dic|des|gru|pro|marec|may|january|february|march|april|june|july|august|september|october|november|december|januar|februar|oktober|dezember';
const monthName = new RegExp(
  `^(\\d{1,2}[.\\-/ ]{1,2}(${months})\\.?([.\\-/ ]\\d{2,4})?|(${months})\\.?[.\\-/ ]{1,2}\\d{2,4})$`,
);
const withTime = /^\d{1,4}[./-]\d{1,2}[./-]\d{1,4}[ T]\d{1,2}:\d{2}(:\d{2})?$/;
const numericDate = /^(\d{1,2}[./-]\d{1,2}[./-](19|20)\d{2}|(19|20)\d{2}[./-]\d{1,2}[./-]\d{1,2})$/;
const errorValue =
  /^#(N\/A|REF!|NAME\?|VALUE!|DIV\/0!|NULL!|NUM!|SPILL!|CALC!|GETTING_DATA|NV|BEZUG!|WERT!|ZAHL!|NOM\?|VALEUR!|NOMBRE\?|VALOR!|NOME\?|VALORE!|N\/D|N\/B|ARG!|ADR!|LICZBA!|NAZWA\?)$/i;

/**
 * What a spreadsheet has made of a value on its way into the list. Common practice, no source, for what they do: long digits to
 * 1.2E+10, `4-2` to 04.Feb, a narrow column to ####. A plain date counts only where no date can stand.
 */
export function findMangling(text: string, field: RoomField): Mangling | undefined {
  if (/^#{2,}$/.test(text)) return 'hashes';
  if (errorValue.test(text)) return 'error-value';
  if (text.includes('\uFFFD')) return field === 'notes' ? undefined : 'lost-character';
  if (field === 'notes') return undefined;
  if (/^[+-]?\d+([.,]\d+)?E[+-]?\d+$/i.test(text) && /[+.,]|E-/i.test(text)) return 'exponent';
  const plain = text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
  if (monthName.test(plain) || withTime.test(text)) return 'date';
  if (field !== 'running' && field !== 'approval' && numericDate.test(text)) return 'date';
  return isFormula(text) ? 'formula' : undefined;
}

/** A text that a spreadsheet would take for a formula: not a telephone number, a dash or a signed number. */
export const isFormula = (text: string): boolean => /^[=@]\S|^[+-](?=[^\s\d.,+-])/.test(text);

/** `="00123"`: how some programs keep a spreadsheet from changing a text; the text itself. */
export function unwrapTextFormula(cell: string): string {
  const [, inner] = /^\s*="((?:[^"]|"")*)"\s*$/.exec(cell) ?? [];
  return inner === undefined ? cell : inner.replaceAll('""', '"');
}
