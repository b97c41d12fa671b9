import type { RoundRoom } from '../model/round.ts';

type Said = RoundRoom['findings'][number];

const weight = ['stop', 'unproven', 'caution', 'note'];

/** What stands most in the way of a room. */
export const gravestOf = (findings: readonly Said[]): Said | undefined =>
  findings.toSorted((a, b) => weight.indexOf(a.severity) - weight.indexOf(b.severity))[0];

/** `…, and add it: stickwright shelf add.`; a room in it, in quotation marks, may hold a full stop. */
const commandAtEnd = /: ?`?stickwright\b(?:"[^"]*"|[^."])*(?:\.(?=\s|$)|$)/g;

/** A command, an option, a key that is pressed at the desk. */
const ofTheDesk = /\bstickwright\b|(?<![\w-])--[a-z]|\b[A-Z]+_[A-Z_]+\b/;

/**
 * A text for whoever stands in a corridor with a sheet in the hand: the sentences that can be followed there. What only
 * the desk can type stays at the desk.
 */
export function onPaper(text: string): string {
  const plain = text.replace(commandAtEnd, '.');
  const sentences = plain.match(/[^.!?]+(?:[.!?](?!\s|$)[^.!?]*)*[.!?]?["”)]*(?:\s+|$)/g) ?? [plain];
  const kept = sentences
    .filter((sentence) => !ofTheDesk.test(sentence))
    .join('')
    .trim();
  return kept === '' && text !== '' ? 'The desk decides.' : kept;
}
