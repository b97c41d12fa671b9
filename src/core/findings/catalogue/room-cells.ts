import type { RoomField } from '../../model/room.ts';
import { define } from '../define.ts';
import { countInWords, listInWords } from '../words.ts';
import { type AtPlace, at, leftOut } from './room-rows.ts';

const practice = 'common practice, no source';

/** What a program has made of a cell. */
export type Mangling =
  | 'hashes'
  | 'exponent'
  | 'date'
  | 'error-value'
  | 'formula'
  | 'lost-character'
  | 'digits-lost'
  | 'decimal'
  | 'no-result';

const manglings: Readonly<Record<Mangling, { readonly what: string; readonly todo: string }>> = {
  hashes: { what: 'the column was too narrow when the list was saved', todo: 'Widen the column and save it again.' },
  exponent: {
    what: 'a spreadsheet has made a rounded number of it',
    todo: 'Format the column as text, type the value again and save the list again.',
  },
  date: {
    what: 'a spreadsheet has made a date of it',
    todo: 'Format the column as text and type what stands on the panel; the original cannot be read back from the date.',
  },
  'error-value': {
    what: 'it is the error value of a formula',
    todo: 'Put the value itself in place of the formula, as text.',
  },
  formula: {
    what: 'it is a formula, which is never worked out here',
    todo: 'Put the value itself in place of the formula, as text.',
  },
  'lost-character': {
    what: 'a character was lost in an earlier conversion',
    todo: 'Type the value again and save the list as CSV in UTF-8, or as .xlsx.',
  },
  'digits-lost': {
    what: 'a number this long keeps only its first 15 digits in a spreadsheet',
    todo: 'Format the column as text and type the number again.',
  },
  decimal: {
    what: 'it is a number, and to a spreadsheet 3.1 and 3.10 are the same',
    todo: 'Format the column as text and type the value again.',
  },
  'no-result': {
    what: 'it is a formula without a stored result',
    todo: 'Open the workbook in a spreadsheet program, let it work everything out, and save it again.',
  },
};

const fieldWords: Readonly<Record<RoomField, string>> = {
  room: 'room',
  label: 'label',
  running: 'running build',
  serial: 'serial number',
  asset: 'asset tag',
  notes: 'note',
  mode: 'mode',
  approval: 'approval',
};

interface Mangled extends AtPlace {
  readonly field: RoomField;
  readonly text: string;
  readonly mangling: Mangling;
}

const seenOf = ({ field, text, mangling, ...where }: Mangled): string =>
  `${at(where)}: the ${fieldWords[field]} is "${text}": ${manglings[mangling].what}.`;

/** Findings of the area `room/`: about single cells. */
export const roomCellFindings = {
  'room/cell-mangled': define<Mangled>({
    severity: 'unproven',
    title: 'a cell that a program has changed',
    seen: seenOf,
    why: leftOut,
    todo: ({ mangling }) => manglings[mangling].todo,
    source: practice,
  }),

  'room/running-mangled': define<Mangled>({
    severity: 'unproven',
    title: 'a running build that a program has changed',
    seen: (facts) => `${seenOf(facts)} The room stays in the round without it.`,
    why: 'Without the build nobody can tell whether the panel needs an update, or a bridge build first.',
    todo: ({ mangling }) => `${manglings[mangling].todo} Or read the build on the panel's About page.`,
    source: practice,
  }),

  'room/cell-not-used': define<Mangled>({
    severity: 'caution',
    title: 'a cell that a program has changed is not used',
    seen: (facts) => `${seenOf(facts)} The room stays in the round without it.`,
    why: 'A wrong serial number or asset tag on the card sends people to another panel.',
    todo: ({ mangling }) => manglings[mangling].todo,
    source: practice,
  }),

  'room/room-is-number': define<AtPlace & { text: string }>({
    severity: 'caution',
    title: 'a room that a spreadsheet holds as a number',
    seen: ({ text, ...where }) =>
      `${at(where)}: the room "${text}" is a number with decimals; to a spreadsheet ${text} and ${text}0 are the same.`,
    why: 'The card may name another room, such as 2.1 for 2.10.',
    todo: 'Compare it with the door. To mend it, format the column as text and type the room again.',
    source: practice,
  }),

  'room/date-as-build': define<AtPlace & { text: string; build: string }>({
    severity: 'caution',
    title: 'a date was read as a build',
    seen: ({ text, build, ...where }) =>
      `${at(where)}: the cell is the date ${text}; it was read as the running build ${build}.`,
    why: 'If the panel shows its build in another form, or the date means something else, the plan compares with a wrong build.',
    todo: "Compare it with the panel's About page. To mend it, format the column as text and type the build as the panel shows it.",
    source: practice,
  }),

  'room/formula-text': define<AtPlace & { text: string }>({
    severity: 'caution',
    title: 'a text that a spreadsheet would run',
    seen: ({ text, ...where }) => `${at(where)}: ${text}`,
    why: 'A spreadsheet program would take it for a formula when it opens the list. Here it stays text and is not worked out.',
    todo: 'Find out who wrote it. If it is only a remark, put an apostrophe before it.',
    source: 'OWASP, CSV Injection',
  }),

  'room/control-characters': define<AtPlace & { codes: readonly string[] }>({
    severity: 'caution',
    title: 'control characters in a cell',
    seen: ({ codes, ...where }) => `${at(where)}: ${codes.join(', ')}; taken out.`,
    why: 'They come from a scanner or a damaged file; what stands beside them may be damaged too.',
    todo: 'Compare the cell with the panel, and type it again.',
    source: practice,
  }),

  'room/odd-spaces': define<{ count: number; columns: readonly string[]; examples: readonly string[] }>({
    severity: 'note',
    title: 'characters that only look like spaces, or cannot be seen',
    seen: ({ count, columns, examples }) =>
      `${countInWords(count, 'cell')} with no-break, wide or invisible characters (${listInWords(columns)}): ${listInWords(examples, 5)}. They are read as plain spaces, or left away.`,
    why: 'Two labels that look the same would differ without this.',
    todo: 'Nothing. They come along when text is copied from a web page.',
    source: practice,
  }),

  'room/stray-quote': define<AtPlace & { text: string }>({
    severity: 'caution',
    title: 'quotation marks that do not enclose the cell',
    seen: ({ text, ...where }) => `${at(where)}: ${text} was read with its quotation marks.`,
    why: 'The cell may have lost a part, or hold two.',
    todo: 'Look at that line; a quotation mark that belongs to the text is written twice, between quotation marks.',
    source: 'RFC 4180 section 2',
  }),

  'room/cell-holds-rows': define<AtPlace & { lines: number }>({
    severity: 'caution',
    title: 'a cell that holds lines like rows',
    seen: ({ lines, ...where }) =>
      `${at(where)}: the cell is quoted over ${lines} lines, and they look like rows of the list.`,
    why: 'If a quotation mark is missing, these rows are swallowed and their panels are not in the round.',
    todo: 'Look at these lines. If they are rows, take the quotation mark out that opens before them.',
    source: 'RFC 4180 section 2',
  }),

  'room/approval-without-name': define<AtPlace & { text: string; room: string }>({
    severity: 'caution',
    title: 'an approval that names nobody',
    seen: ({ text, room, ...where }) =>
      `${at(where)}: "${text}" for "${room}" does not say who approved the wipe; it does not count.`,
    why: 'A wipe is final. Somebody must stand by it with a name.',
    todo: 'Write the name, or note it with: stickwright round record ROOM --approved-by NAME.',
    source: practice,
  }),
};
