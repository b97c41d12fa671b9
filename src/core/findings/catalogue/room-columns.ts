import { define } from '../define.ts';
import { countInWords } from '../words.ts';
import { noRound, quoted } from './room-words.ts';

const practice = 'common practice, no source';

/** Findings of the area `room/`: which heading and which column is which. */
export const roomColumnFindings = {
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
