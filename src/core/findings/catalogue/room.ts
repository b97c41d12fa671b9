import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import type { RoomField, WayField } from '../../model/room.ts';
import { countInWords, listInWords } from '../../text/words.ts';

/** Why a list that cannot be read at all matters. */
const noRound = 'Without the rooms and the labels nobody can say which stick goes where.';
/** The first of some names, quoted. */
export const quoted = (items: readonly string[], most = 12): string =>
  listInWords(
    items.map((item) => `"${item}"`),
    most,
  );

const practice = 'common practice, no source';

/** Findings of the area `room/`: which heading and which column is which. */
const roomColumnFindings = {
  'room/headings-missing': define<{ first: readonly string[] }>({
    severity: 'stop',
    title: 'the list has no headings',
    seen: ({ first }, subject) => `No line of ${subject} reads as headings. It begins with ${quoted(first, 6)}.`,
    why: noRound,
    todo: 'Write a line of headings above the list, such as: room, label, running, serial, asset, notes.',
    noOverride: true,
    source: practice,
  }),

  'room/columns-unknown': define<{
    missing: readonly string[];
    headings: readonly string[];
    option: string;
    /** The option holds a guess, not a blank. */
    guessed: readonly string[];
  }>({
    severity: 'stop',
    title: 'not clear which column is which',
    seen: ({ missing, headings, guessed }, subject) =>
      `${subject}: no heading says where the ${missing.join(' and the ')} ${missing.length > 1 ? 'stand' : 'stands'}. The headings are ${quoted(headings, 20)}.${guessed.length === 0 ? '' : ` Perhaps: ${guessed.join(', ')}.`}`,
    why: noRound,
    todo: ({ option }) => `Say it once; it is remembered for lists with these headings: ${option}.`,
    noOverride: true,
    source: practice,
  }),

  'room/field-not-read': define<{
    field: string;
    headings: readonly string[];
    guess: string | undefined;
    option: string;
  }>({
    severity: 'caution',
    title: 'a column was not recognised',
    seen: ({ field, headings, guess }, subject) =>
      guess === undefined
        ? `${subject}: no heading says where the ${field} stands. The headings are ${quoted(headings, 20)}.`
        : `${subject}: "${guess}" perhaps holds the ${field}; it was not read.`,
    why: 'Without the running build nobody can tell what a panel needs; without serial or asset numbers panels of one room are taken for one another.',
    todo: ({ option }) => `If the list has it, say it once; it is remembered for lists with these headings: ${option}.`,
    source: practice,
  }),

  'room/column-not-there': define<{ field: string; heading: string; headings: readonly string[] }>({
    severity: 'stop',
    title: 'the named column is not there',
    seen: ({ field, heading, headings }, subject) =>
      `${subject} has no single column "${heading}" for ${field}. The headings are ${quoted(headings, 20)}.`,
    why: noRound,
    todo: 'Give the heading as it stands there, or the column by its number as #3.',
    noOverride: true,
    source: practice,
  }),

  'room/columns-read': define<{
    columns: readonly { readonly field: string; readonly heading: string; readonly by: string }[];
    unused: readonly string[];
  }>({
    severity: 'note',
    title: 'how the columns were read',
    seen: ({ columns, unused }) =>
      `${columns.map(({ field, heading, by }) => `${field} from "${heading}" (${by})`).join(', ')}.${unused.length === 0 ? '' : ` Not used: ${quoted(unused)}.`}`,
    why: 'A column that is taken for another gives wrong labels or builds.',
    todo: 'If one is wrong, name it, such as --columns "label=Typenschild".',
    source: practice,
  }),

  'room/column-rivals': define<{ field: string; taken: string; others: readonly string[]; option: string }>({
    severity: 'caution',
    title: 'two columns could be meant',
    seen: ({ field, taken, others }) => `${field} was read from "${taken}"; ${quoted(others)} could be meant as well.`,
    why: 'A column that is taken for another gives wrong labels or builds.',
    todo: ({ option }) => `If the other is right: ${option}.`,
    source: practice,
  }),

  'room/label-column-doubtful': define<{
    taken: string;
    takenCount: number;
    other: string;
    otherCount: number;
    families: readonly string[];
    option: string;
  }>({
    severity: 'caution',
    title: 'the labels seem to stand in another column',
    seen: ({ taken, takenCount, other, otherCount, families }) =>
      `${countInWords(otherCount, 'cell')} of "${other}" read as a label (${families.join(', ')}), of "${taken}" only ${takenCount}.`,
    why: 'The label decides which package the panel takes. The column is not changed for you.',
    todo: ({ option }) => `Look at both columns. If the other holds the labels: ${option}.`,
    source: practice,
  }),

  'room/column-memory': define<{ problem: string }>({
    severity: 'note',
    title: 'the remembered columns were not used',
    seen: ({ problem }, subject) => `${subject}: ${problem}.`,
    why: 'Columns that were said earlier may be asked again. The list itself is not affected.',
    todo: 'Name the columns with --columns once more; if this note stays, remove that file.',
    source: practice,
  }),
};

/** Where in the list. */
interface AtPlace {
  /** `line 17, column 4 "Serial"`, `cell D17 "Serial"`. */
  readonly place: string;
}

/** What every finding says whose row is left out. */
const leftOut = 'This row is left out of the round: nobody would go to that panel, and nothing is planned for it.';

const upper = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
export const at = ({ place }: AtPlace): string => upper(place);

/** Findings of the area `room/`: about whole rows. */
const roomRowFindings = {
  'room/room-missing': define<AtPlace & { label: string }>({
    severity: 'unproven',
    title: 'a row without a room',
    seen: ({ label, ...where }) =>
      `${at(where)}: the room is missing${label === '' ? '' : `; its label is "${label}"`}.`,
    why: leftOut,
    todo: 'Write the room into that cell. If the row is no panel, take it out of the list.',
    source: practice,
  }),

  'room/label-missing': define<AtPlace & { room: string }>({
    severity: 'unproven',
    title: 'a row without a label',
    seen: ({ room, ...where }) => `${at(where)}: the label of "${room}" is missing.`,
    why: leftOut,
    todo: "Write the model line of the panel's plate into that cell. If the row is a title, take it out of the list.",
    source: practice,
  }),

  'room/too-many-cells': define<AtPlace & { cells: number; headings: number; extra: string }>({
    severity: 'unproven',
    title: 'a row with more cells than headings',
    seen: ({ cells, headings, extra, ...where }) =>
      `${at(where)}: ${cells} cells under ${headings} headings, up to "${extra}". A delimiter inside a text has moved the cells.`,
    why: `Which cell is the label cannot be told. ${leftOut}`,
    todo: 'Put the text that holds the delimiter between quotation marks, or save the list from the spreadsheet again.',
    source: 'RFC 4180 section 2: fields with the delimiter inside are enclosed in double quotes',
  }),

  'room/too-few-cells': define<AtPlace & { cells: number; headings: number }>({
    severity: 'caution',
    title: 'a row with fewer cells than headings',
    seen: ({ cells, headings, ...where }) =>
      `${at(where)}: ${cells} cells under ${headings} headings; those at the end count as empty.`,
    why: 'If a delimiter is missing in the middle, a serial number or build is taken for another cell.',
    todo: 'Compare that line with the one above it.',
    source: 'RFC 4180 section 2: each line should contain the same number of fields',
  }),

  'room/quote-not-closed': define<AtPlace & { text: string }>({
    severity: 'unproven',
    title: 'a quotation mark that is not closed',
    seen: ({ text, ...where }) =>
      `${at(where)}: a quotation mark opens and does not close in this line, so that it would swallow the rows after it: ${text}`,
    why: `The rows after it are read. ${leftOut}`,
    todo: 'Close the quotation mark, or write it twice where it belongs to the text (an inch sign): "75"" panel".',
    source: 'RFC 4180 section 2: a double quote inside a field is written twice',
  }),

  'room/mode-unknown': define<AtPlace & { text: string; room: string }>({
    severity: 'unproven',
    title: 'a mode that is not known',
    seen: ({ text, room, ...where }) => `${at(where)}: "${text}" for "${room}" is no mode.`,
    why: `A recovery wipes the panel, so it is never guessed which one is meant. ${leftOut}`,
    todo: "Write in-os or recovery, or leave the cell empty for the round's own mode.",
    source: practice,
  }),

  'room/answer-unknown': define<AtPlace & { field: WayField; text: string; room: string }>({
    severity: 'unproven',
    title: 'a word on what the panel can still do that is not known',
    seen: ({ field, text, room, ...where }) => `${at(where)}: "${text}" for "${room}" is no ${fieldWords[field]}.`,
    why: `It decides whether the panel needs a stick, and whether it is wiped; so it is never guessed. ${leftOut}`,
    todo: ({ field }) => `Write one of these: ${wordsToWrite[field]}. Or leave the cell empty.`,
    source: practice,
  }),

  'room/total-row': define<AtPlace & { text: string }>({
    severity: 'note',
    title: 'a row that adds up',
    seen: ({ text, ...where }) => `${at(where)}: "${text}" reads as a total, not as a room.`,
    why: 'It is no panel, so it is not in the round.',
    todo: 'If it is a room after all, write its label into the row.',
    source: practice,
  }),

  'room/headings-again': define<AtPlace>({
    severity: 'note',
    title: 'the headings once more',
    seen: (where) => `${at(where)} repeats the headings.`,
    why: 'It is no panel, so it is not in the round.',
    todo: 'Nothing.',
    source: practice,
  }),

  'room/empty-rows': define<{ rows: readonly string[] }>({
    severity: 'note',
    title: 'empty rows',
    seen: ({ rows }) => `${countInWords(rows.length, 'empty row')} in between: ${listInWords(rows, 8)}.`,
    why: 'They are passed over; the rows below them are read.',
    todo: 'If a room belongs there, fill it in.',
    source: practice,
  }),

  'room/hidden-rows': define<{ rows: readonly string[] }>({
    severity: 'caution',
    title: 'hidden rows are read too',
    seen: ({ rows }) =>
      `Hidden or filtered away in the sheet: ${countInWords(rows.length, 'row')} (${listInWords(rows, 8)}).`,
    why: 'Whoever hid them may not want these panels in the round.',
    todo: 'If they are not meant, copy the visible rows into a new workbook and plan with that.',
    source: practice,
  }),

  'room/merged-rows': define<{ cells: readonly string[] }>({
    severity: 'note',
    title: 'merged cells are read for every row they cover',
    seen: ({ cells }) => `Taken from the cell above with which it is merged: ${listInWords(cells, 8)}.`,
    why: 'A room with two panels is often written once, over both rows.',
    todo: 'Look in the plan whether these rooms are right.',
    source: practice,
  }),
};

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
  starts: 'word on whether it starts',
  air: 'word on its own update',
  settings: 'word on its settings',
  keep: 'word on what is worth keeping',
};

/** One word for each answer, as the list may say it in English; others are known too. */
const wordsToWrite: Readonly<Record<WayField, string>> = {
  starts: 'yes, no, unknown',
  air: 'offers, offline, nothing, fails, cannot, unknown',
  settings: 'yes, no, failed twice, maker asks for recovery',
  keep: 'yes, no, unknown',
};

interface Mangled extends AtPlace {
  readonly field: RoomField;
  readonly text: string;
  readonly mangling: Mangling;
}

const seenOf = ({ field, text, mangling, ...where }: Mangled): string =>
  `${at(where)}: the ${fieldWords[field]} is "${text}": ${manglings[mangling].what}.`;

/** Findings of the area `room/`: about single cells. */
const roomCellFindings = {
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

const allLeftOut =
  'Which row is true cannot be told from here, and a stick or a record would meet the wrong panel. These rows are left out of the round.';

/** Rows that speak of one panel, or cannot be told apart. */
interface Together {
  /** `line 5, line 9`. */
  readonly places: readonly string[];
  readonly rooms: readonly string[];
}

const where = ({ places }: Together): string => places.join(' and ');
const inRooms = ({ rooms }: Together): string => [...new Set(rooms)].map((room) => `"${room}"`).join(' and ');

/** Findings of the area `room/`: rows against each other. */
const roomPanelFindings = {
  'room/row-twice': define<Together>({
    severity: 'caution',
    title: 'the same panel twice',
    seen: (facts) => `${upper(where(facts))} say the same of one panel in ${inRooms(facts)}; the first counts.`,
    why: 'One panel gets one visit.',
    todo: 'If it is a second panel, correct its serial number or asset tag; else take the row out.',
    source: practice,
  }),

  'room/panel-twice': define<Together & { number: string }>({
    severity: 'unproven',
    title: 'one panel with two stories',
    seen: ({ number, ...facts }) =>
      `${upper(where(facts))} are the panel ${number} in ${inRooms(facts)}, but differ in its label, build, mode or approval.`,
    why: allLeftOut,
    todo: 'Look at the panel, keep the row that is right and take the other out.',
    source: practice,
  }),

  'room/serial-in-two-rooms': define<Together & { number: string }>({
    severity: 'unproven',
    title: 'one serial number in two rooms',
    seen: ({ number, ...facts }) => `${upper(where(facts))}: serial ${number} stands in ${inRooms(facts)}.`,
    why: allLeftOut,
    todo: 'Read the serial numbers on both plates and correct the list; perhaps the panel was moved.',
    source: practice,
  }),

  'room/asset-twice': define<Together & { number: string }>({
    severity: 'unproven',
    title: 'one asset tag on two panels',
    seen: ({ number, ...facts }) => `${upper(where(facts))}: asset ${number} stands for panels in ${inRooms(facts)}.`,
    why: allLeftOut,
    todo: 'Read the tags on both panels and correct the list; perhaps the panel was replaced or moved.',
    source: practice,
  }),

  'room/panels-alike': define<Together>({
    severity: 'unproven',
    title: 'panels in one room that cannot be told apart',
    seen: (facts) =>
      `${upper(where(facts))} are in ${inRooms(facts)}, and neither serial, asset tag nor label tells them apart.`,
    why: 'At the panel nobody could say which one is meant, nor afterwards which one was done. These rows are left out of the round.',
    todo: 'Add serial numbers or asset tags, or write the rooms apart, such as "Hall left" and "Hall right".',
    source: practice,
  }),
};

/** What a file is, when it is no list that can be read. */
export type ListKind =
  | 'xls'
  | 'encrypted'
  | 'xlsb'
  | 'ods'
  | 'numbers'
  | 'document'
  | 'pdf'
  | 'html'
  | 'xml'
  | 'rtf'
  | 'picture'
  | 'archive'
  | 'binary'
  | 'empty';

const kinds: Readonly<Record<ListKind, { readonly what: string; readonly todo: string }>> = {
  xls: { what: 'an old binary workbook (.xls)', todo: 'Open it in a spreadsheet program and save it as .xlsx.' },
  encrypted: {
    what: 'a workbook with a password',
    todo: 'Open it with its password and save a copy without one, as .xlsx or CSV.',
  },
  xlsb: {
    what: 'a binary workbook (.xlsb)',
    todo: 'Open it in a spreadsheet program and save it as .xlsx (not .xlsb).',
  },
  ods: {
    what: 'an OpenDocument spreadsheet (.ods)',
    todo: 'Open it in a spreadsheet program and save it as .xlsx or as CSV in UTF-8.',
  },
  numbers: { what: 'a spreadsheet of another program', todo: 'Export it as .xlsx or CSV.' },
  document: {
    what: 'a text document or presentation',
    todo: 'Copy its table into a spreadsheet and save that as .xlsx.',
  },
  pdf: { what: 'a PDF', todo: 'Ask for the list it was printed from, as .xlsx or CSV.' },
  html: {
    what: 'a web page',
    todo: 'If it was downloaded, sign in and export the list again; if it holds the table, open it in a spreadsheet program and save it as .xlsx.',
  },
  xml: { what: 'an XML file', todo: 'Open it in a spreadsheet program and save it as .xlsx.' },
  rtf: { what: 'a rich-text document', todo: 'Copy its table into a spreadsheet and save that as .xlsx.' },
  picture: { what: 'a picture', todo: 'Type the list, or ask for the file it was made from, as .xlsx or CSV.' },
  archive: { what: 'an archive', todo: 'Unpack it and name the list inside.' },
  binary: { what: 'no text and no workbook', todo: 'Save the list as CSV in UTF-8, or as .xlsx.' },
  empty: { what: 'empty', todo: 'Save the list again, or copy it again from where it lies.' },
};

/** Findings of the area `room/`: the list of rooms. Those here are about the file. */
export const roomFindings = {
  ...roomColumnFindings,
  ...roomRowFindings,
  ...roomCellFindings,
  ...roomPanelFindings,

  'room/not-a-list': define<{ kind: ListKind }>({
    severity: 'stop',
    title: 'no room list that can be read',
    seen: ({ kind }, subject) => `${subject} is ${kinds[kind].what}. A room list is a CSV file or an .xlsx workbook.`,
    why: noRound,
    todo: ({ kind }) => kinds[kind].todo,
    noOverride: true,
    source: practice,
  }),

  'room/too-large': define<{ what: string }>({
    severity: 'stop',
    title: 'too large for a room list',
    seen: ({ what }, subject) => `${subject} has ${what}.`,
    why: 'A list of rooms is never that large, so this is another file, or one that was filled by mistake or on purpose.',
    todo: 'Look whether it is the right file. Save only the list, without the empty rows and columns behind it.',
    noOverride: true,
    source: practice,
  }),

  'room/workbook-damaged': define<{ problem: string }>({
    severity: 'stop',
    title: 'the workbook is damaged',
    seen: ({ problem }, subject) => `${subject} is no sound .xlsx workbook: ${problem}.`,
    why: noRound,
    todo: 'Copy it again from where it lies. If it opens in a spreadsheet program, save it there again as .xlsx.',
    noOverride: true,
    source: 'ECMA-376 (Office Open XML)',
  }),

  'room/sheet-missing': define<{ wanted: string | undefined; sheets: readonly string[] }>({
    severity: 'stop',
    title: 'the sheet is not there',
    seen: ({ wanted, sheets }, subject) =>
      wanted === undefined
        ? `${subject} has no visible sheet; hidden: ${sheets.length === 0 ? 'none' : quoted(sheets)}.`
        : `${subject} has no sheet "${wanted}"; it has ${quoted(sheets)}.`,
    why: noRound,
    todo: ({ wanted }) =>
      wanted === undefined
        ? 'Name one with --sheet, or show the sheet with the list and save the workbook.'
        : 'Name one of its sheets with --sheet.',
    noOverride: true,
    source: practice,
  }),

  'room/sheet-chosen': define<{ sheet: string; others: readonly string[] }>({
    severity: 'note',
    title: 'the workbook has several sheets',
    seen: ({ sheet, others }, subject) => `Sheet "${sheet}" of ${subject} was read; not ${quoted(others)}.`,
    why: 'Rooms on another sheet are not in the round.',
    todo: 'If the list is on another sheet, name it with --sheet.',
    source: practice,
  }),

  'room/encoding-assumed': define<{ mixed: boolean }>({
    severity: 'note',
    title: 'the encoding was assumed',
    seen: ({ mixed }, subject) =>
      mixed
        ? `${subject} is UTF-8 in some places and not in others; it was read as Windows-1252.`
        : `${subject} is not UTF-8 and has no byte order mark; it was read as Windows-1252, as spreadsheet programs save CSV in Western Europe.`,
    why: 'With the wrong encoding, letters with accents come out as others on the cards. Labels and builds are not affected.',
    todo: 'Look at a name with an accent in the plan. If it is wrong, save the list as "CSV UTF-8", or as .xlsx.',
    source: 'WHATWG Encoding Standard, windows-1252; common practice, no source, for the guess',
  }),

  'room/no-rows': define<NoFacts>({
    severity: 'stop',
    title: 'no row below the headings',
    seen: (_facts, subject) => `${subject} holds no row of a panel.`,
    why: noRound,
    todo: 'Look whether it is the right file, and whether the list is on another sheet.',
    noOverride: true,
    source: practice,
  }),
};
