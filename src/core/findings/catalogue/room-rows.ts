import { define } from '../define.ts';
import { countInWords, listInWords } from '../words.ts';

const practice = 'common practice, no source';

/** Where in the list. */
export interface AtPlace {
  /** `line 17, column 4 "Serial"`, `cell D17 "Serial"`. */
  readonly place: string;
}

/** What every finding says whose row is left out. */
export const leftOut =
  'This row is left out of the round: nobody would go to that panel, and nothing is planned for it.';

const upper = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
export const at = ({ place }: AtPlace): string => upper(place);

/** Findings of the area `room/`: about whole rows. */
export const roomRowFindings = {
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
