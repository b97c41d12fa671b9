import type { ReportDocument } from '../../core/report/report-schema.ts';

/** Members so deep are taken apart, which reaches each file of each stick's manifest; what lies deeper is small. */
const deepest = 5;
const pieceLength = 65_536;

/**
 * One document on one line of text, with a line break at its end, as JSON.stringify writes it: in pieces, because that of eight
 * sticks with thousands of files each would take more memory than all else.
 */
export function* serialise(document: ReportDocument): Iterable<string> {
  let piece = '';
  for (const token of tokensOf(document, deepest)) {
    piece += token;
    if (piece.length < pieceLength) continue;
    yield piece;
    piece = '';
  }
  yield `${piece}\n`;
}

function* tokensOf(value: unknown, depth: number): Iterable<string> {
  if (depth === 0 || isFlat(value)) {
    yield JSON.stringify(value) ?? 'null'; // as in a list; a member that is undefined is left out below
  } else if (Array.isArray(value)) {
    for (const [index, item] of value.entries()) {
      yield index === 0 ? '[' : ',';
      yield* tokensOf(item, depth - 1);
    }
    yield value.length === 0 ? '[]' : ']';
  } else {
    let opening = '{';
    for (const [name, member] of Object.entries(value as object)) {
      if (member === undefined) continue;
      yield `${opening}${JSON.stringify(name)}:`;
      opening = ',';
      yield* tokensOf(member, depth - 1);
    }
    yield opening === '{' ? '{}' : '}';
  }
}

/** There is nothing in it to be taken apart, as in what is said of one file. A list may be long. */
const isFlat = (value: unknown): boolean =>
  isPlain(value) || (!Array.isArray(value) && Object.values(value as object).every(isPlain));

const isPlain = (value: unknown): boolean => typeof value !== 'object' || value === null || 'toJSON' in value;
