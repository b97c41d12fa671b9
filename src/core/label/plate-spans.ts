import { normaliseLabel } from './normalise-label.ts';

/** A run of whole words on a plate. */
export interface PlateSpan {
  readonly text: string;
  /** Counted from 1; where it reaches over a line break, its first. */
  readonly line: number;
  readonly whole: string;
  /** Words of the line, from `from` up to and without `to`. */
  readonly from: number;
  readonly to: number;
  readonly overLines: boolean;
  /** Nothing else stands in the line but a heading such as "Model:". */
  readonly alone: boolean;
}

interface Line {
  readonly number: number;
  readonly text: string;
  readonly words: readonly string[];
  /** How many words are the heading. */
  readonly heading: number;
}

const mostWords = 5;
const heading =
  /^(?:(?:model|modell|modelo|modello|modèle|mod|type|typ|tipo|m\/n)\b[. ]*(?:name|code|number|no|nr|nº|n°)?[. ]*)[:=#]?\s*/iu;
const anyHeading = /^[\p{L} ./]{2,24}[:=]\s*/u;

/** All runs of up to five words in a line, and those that reach over one line break, longest first in each place. */
export function spansOfPlate(text: string): readonly PlateSpan[] {
  const lines = text
    .split(/\r\n|[\n\r\v\f\u0085\u2028\u2029]/)
    .map((line, index) => toLine(line, index + 1))
    .filter(({ words }) => words.length > 0);
  return lines.flatMap((line, index) => [...within(line), ...over(line, lines[index + 1])]);
}

function toLine(raw: string, number: number): Line {
  const text = normaliseLabel(raw);
  const head = heading.exec(text)?.[0] ?? anyHeading.exec(text)?.[0] ?? '';
  const headWords = wordsOf(head);
  return { number, text, words: [...headWords, ...wordsOf(text.slice(head.length))], heading: headWords.length };
}

const wordsOf = (text: string): readonly string[] => text.split(' ').filter((word) => word !== '');

/** Brackets, quotes and commas around a text do not belong to it. */
const bare = (words: readonly string[], joint: string): string =>
  words.join(joint).replace(/^[("'[,;:]+|[)"'\],;:]+$/g, '');

function within(line: Line): readonly PlateSpan[] {
  return line.words.flatMap((_word, from) =>
    lengths(line.words.length - from).map((length) => ({
      text: bare(line.words.slice(from, from + length), ' '),
      line: line.number,
      whole: line.text,
      from,
      to: from + length,
      overLines: false,
      alone: from === line.heading && from + length === line.words.length,
    })),
  );
}

/** From some word to the end of the line, and on into the next; a break may hide a space or nothing. */
function over(line: Line, next: Line | undefined): readonly PlateSpan[] {
  if (next === undefined) return [];
  return lengths(line.words.length).flatMap((before) =>
    lengths(next.words.length).flatMap((after) =>
      [' ', ''].map((joint) => {
        const head = line.words.slice(-before).join(' ');
        const text = bare([head, next.words.slice(0, after).join(' ')], joint);
        const from = line.words.length - before;
        const whole = `${line.text} / ${next.text}`;
        return { text, line: line.number, whole, from, to: line.words.length, overLines: true, alone: false };
      }),
    ),
  );
}

const lengths = (most: number): readonly number[] =>
  Array.from({ length: Math.min(most, mostWords) }, (_, index) => Math.min(most, mostWords) - index);
