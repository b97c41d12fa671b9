import type { Mangling } from '../../findings/catalogue/room.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { Mode } from '../../model/mode.ts';
import { type Room, type RoomField, roomFields, type WayField, wayFields } from '../../model/room.ts';
import { readAnswer, readApproval, readMode } from './cell-words.ts';
import { cleanCell, type ListTable, placeInWords, type RowFlaw, type TableRow } from './list-table.ts';
import type { Columns } from './match-columns.ts';

interface Judged {
  /** Without the cells that cannot be used. */
  readonly values: RowValues;
  readonly mode: Mode | undefined;
  readonly approval: string | undefined;
  readonly answers: Room['answers'];
  /** The row must be left out. */
  readonly out: boolean;
  readonly findings: readonly Finding[];
}

/** Fields without which, or with a wrong one, somebody does the wrong thing at a panel. */
const decisive: readonly RoomField[] = ['room', 'label', 'mode', ...wayFields];

/** What the cells of a row are worth: which can be used, which cannot, and whether the row can. */
export function judgeCells(row: TableRow, read: RowValues, context: RowContext): Judged {
  const cells = roomFields.flatMap((field) => {
    const text = read[field];
    return text === undefined ? [] : [judgeCell(row, field, text, context)];
  });
  const values: RowValues = Object.fromEntries(
    cells.flatMap(({ field, text }) => (text === undefined ? [] : [[field, text] as const])),
  );
  const mangled = cells.some(({ field, text }) => text === undefined && decisive.includes(field));
  const mode = mangled ? { mode: undefined, findings: [] } : modeOf(row, values, context);
  const approval = approvalOf(row, values, context);
  const way = mangled ? { answers: {}, findings: [] } : answersOf(row, values, context);
  return {
    values,
    mode: mode.mode,
    approval: approval.text,
    answers: way.answers,
    out: mangled || mode.findings.length > 0 || way.findings.length > 0,
    findings: [
      ...cells.flatMap(({ findings }) => findings),
      ...(mangled ? [] : missing(row, values, context)),
      ...mode.findings,
      ...way.findings,
      ...approval.findings,
    ],
  };
}

interface JudgedCell {
  readonly field: RoomField;
  /** Undefined where it cannot be used. */
  readonly text: string | undefined;
  readonly findings: readonly Finding[];
}

function judgeCell(row: TableRow, field: RoomField, text: string, context: RowContext): JudgedCell {
  const column = context.columns[field];
  const about = subject(row, context);
  const at = { place: cellPlace(row, context, column) };
  const flaw = row.flaws?.find((one) => 'column' in one && one.column === column && one.kind !== 'merged');
  const mangling = manglingOf(text, field, flaw);
  if (mangling !== undefined) {
    const code = decisive.includes(field)
      ? 'room/cell-mangled'
      : field === 'running'
        ? 'room/running-mangled'
        : 'room/cell-not-used';
    const facts = { ...at, field, text: shortened(text), mangling };
    return { field, text: undefined, findings: [finding(code, about, facts)] };
  }
  const findings: Finding[] = [];
  if (field === 'notes' && isFormula(text)) {
    findings.push(finding('room/formula-text', about, { ...at, text: shortened(text) }));
  }
  if (context.places === 'lines' && /^"[^"]*"./.test(text)) {
    findings.push(finding('room/stray-quote', about, { ...at, text: shortened(text) }));
  }
  if (flaw?.kind === 'decimal' && field === 'room') {
    findings.push(finding('room/room-is-number', about, { ...at, text }));
  }
  if (flaw?.kind !== 'date' || field !== 'running') return { field, text, findings };
  const build = text.replaceAll('-', '');
  return { field, text: build, findings: [...findings, finding('room/date-as-build', about, { ...at, text, build })] };
}

function modeOf(row: TableRow, { mode: text, room = '' }: RowValues, context: RowContext) {
  const mode = text === undefined ? undefined : readMode(text);
  if (text === undefined || mode !== undefined) return { mode, findings: [] };
  const facts = { place: cellPlace(row, context, context.columns.mode), text: shortened(text), room };
  return { mode, findings: [finding('room/mode-unknown', subject(row, context), facts)] };
}

/** What the panel can still do; a word that is not known is none of the answers, and no guess is made. */
function answersOf(row: TableRow, values: RowValues, context: RowContext) {
  const answers: Partial<Record<WayField, string>> = {};
  const findings: Finding[] = [];
  for (const field of wayFields) {
    const text = values[field];
    const answer = text === undefined ? '' : readAnswer(field, text);
    if (answer === undefined) {
      const place = cellPlace(row, context, context.columns[field]);
      const facts = { place, field, text: shortened(text ?? ''), room: values.room ?? '' };
      findings.push(finding('room/answer-unknown', subject(row, context), facts));
    } else if (answer !== '') answers[field] = answer;
  }
  return { answers, findings };
}

function manglingOf(text: string, field: RoomField, flaw: RowFlaw | undefined) {
  if (flaw?.kind === 'no-result') return flaw.kind;
  if (field === 'notes' || field === 'approval') return findMangling(text, field);
  if (flaw?.kind === 'digits-lost') return flaw.kind;
  if (flaw?.kind === 'decimal' && field !== 'room') return flaw.kind;
  if (flaw?.kind === 'date') return field === 'running' && isPlainDate(text) ? undefined : flaw.kind;
  return findMangling(text, field);
}

const isPlainDate = (text: string): boolean => /^\d{4}-\d{2}-\d{2}$/.test(text);

function missing(row: TableRow, values: RowValues, context: RowContext): readonly Finding[] {
  const about = subject(row, context);
  const { room, label } = values;
  if (room === undefined) {
    const at = { place: cellPlace(row, context, context.columns.room) };
    return [finding('room/room-missing', about, { ...at, label: shortened(label ?? '') })];
  }
  if (label !== undefined) return [];
  const at = { place: cellPlace(row, context, context.columns.label) };
  return [finding('room/label-missing', about, { ...at, room: shortened(room) })];
}

function approvalOf(row: TableRow, values: RowValues, context: RowContext) {
  const text = values.approval;
  const said = text === undefined ? undefined : readApproval(text);
  if (text === undefined || said === 'no') return { text: undefined, findings: [] };
  if (said === 'name') return { text, findings: [] };
  const at = { place: cellPlace(row, context, context.columns.approval) };
  const facts = { ...at, text: shortened(text), room: values.room ?? '' };
  return { text: undefined, findings: [finding('room/approval-without-name', subject(row, context), facts)] };
}

/** What is needed to understand a row: where the fields stand, and how to speak of a place. */
export interface RowContext {
  readonly source: string;
  readonly places: ListTable['places'];
  readonly headings: readonly string[];
  readonly columns: Columns;
  /** Cells that a row has: as many as there are headings, unless most rows agree on another number. */
  readonly usualCells: number;
}

/** The texts of a row, cleaned, by field; what says "nothing here" is not among them. */
export type RowValues = Readonly<Partial<Record<RoomField, string>>>;

/** What a finding is about: file and line. */
export const subject = (row: TableRow, { source }: RowContext): string => `${source}:${row.row}`;

/** Where, in words. */
export const cellPlace = (row: TableRow, { places, headings }: RowContext, column?: number): string =>
  placeInWords(places, row.row, column, column === undefined ? undefined : headings[column]);

/** A cell in one line, for a message. */
export const shortened = (text: string): string => {
  const line = cleanCell(text).text;
  return line.length > 80 ? `${line.slice(0, 77)}...` : line;
};

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
 * What a spreadsheet has made of a value on its way into the list. Common practice, no source, for what they do: long
 * digits to 1.2E+10, `4-2` to 04.Feb, a narrow column to ####. A plain date counts only where no date can stand.
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
