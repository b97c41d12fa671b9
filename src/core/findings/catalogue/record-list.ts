import { define } from '../define.ts';
import { countInWords } from '../words.ts';

const practice = 'common practice, no source';
const others = 'The other rows were recorded.';

/** Findings about a filled-in list. */
export const recordListFindings = {
  'record/list-without-headings': define<{ missing: readonly string[]; first: readonly string[] }>({
    severity: 'stop',
    title: 'the list cannot be read as a filled-in list',
    seen: ({ missing, first }, subject) =>
      `${subject} has no column for ${missing.join(' and none for ')}. Its headings: ${first.join(', ') || 'none'}.`,
    why: 'Without these columns nobody can tell which room was done and how it went.',
    todo: 'Nothing was recorded. Fill in the list that stickwright round export --csv writes, or give its headings: Room, Outcome, Build after, Done at, Who, Stick, Words.',
    noOverride: true,
    source: practice,
  }),

  'record/bad-cell': define<{ place: string; text: string; problem: string; mend: string }>({
    severity: 'stop',
    title: 'a row that cannot be used',
    seen: ({ place, text, problem }, subject) => `${subject}, ${place}: "${text}" ${problem}.`,
    why: `A guess would note something that nobody did. ${others}`,
    todo: ({ mend }) => `${mend} Then give the same list again: what is recorded already is not recorded twice.`,
    noOverride: true,
    source: practice,
  }),

  'record/bad-row': define<{ place: string; title: string; seen: string }>({
    severity: 'stop',
    title: 'a row that cannot be used',
    seen: ({ place, title, seen }, subject) => `${subject}, ${place}: ${title}. ${seen}`,
    why: `A guess would note something that nobody did. ${others}`,
    todo: 'Correct the row, or record the room by itself (stickwright round record ROOM). Then give the same list again: what is recorded already is not recorded twice.',
    noOverride: true,
    source: practice,
  }),

  'record/rows-empty': define<{ rows: number }>({
    severity: 'note',
    title: 'rows that are not filled in',
    seen: ({ rows }, subject) =>
      `${subject}: ${countInWords(rows, 'row has', 'rows have')} no outcome and no build, and stay open.`,
    why: 'Nothing was noted there.',
    todo: 'Nothing.',
    source: practice,
  }),

  'record/rows-known': define<{ rows: number }>({
    severity: 'note',
    title: 'recorded before',
    seen: ({ rows }, subject) =>
      `${subject}: ${countInWords(rows, 'row says', 'rows say')} what is recorded already; not recorded twice.`,
    why: 'The same list may be given as often as one likes.',
    todo: 'If a room was done a second time with the same words, give the times of both.',
    source: practice,
  }),

  'record/rows-withdrawn': define<{ rows: number }>({
    severity: 'caution',
    title: 'rows whose line was withdrawn',
    seen: ({ rows }, subject) =>
      `${subject}: ${countInWords(rows, 'row says', 'rows say')} what was recorded and then withdrawn; left out.`,
    why: 'A line that was withdrawn does not come back by giving the same list again.',
    todo: 'If the row is right after all, record the room by itself: stickwright round record ROOM.',
    source: practice,
  }),

  'record/time-assumed': define<{ rows: number; at: string }>({
    severity: 'note',
    title: 'rows without a time',
    seen: ({ rows, at }, subject) => `${subject}: ${countInWords(rows, 'row has', 'rows have')} no time and got ${at}.`,
    why: 'The later of two visits of a room counts.',
    todo: 'If the work was done at another time, give --at with the list, or fill in the column Done at.',
    source: practice,
  }),
};
