import { define, type NoFacts } from '../define.ts';
import { roomCellFindings } from './room-cells.ts';
import { roomColumnFindings } from './room-columns.ts';
import { roomPanelFindings } from './room-panels.ts';
import { roomRowFindings } from './room-rows.ts';
import { noRound, quoted } from './room-words.ts';

const practice = 'common practice, no source';
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
        ? `${subject} has no visible sheet; hidden: ${quoted(sheets)}.`
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
