import type { RoundRoom } from '../../core/model/round.ts';

type Said = RoundRoom['findings'][number];

const weight = ['stop', 'unproven', 'caution', 'note'];

/** What stands most in the way of a room. */
export const gravestOf = (findings: readonly Said[]): Said | undefined =>
  findings.toSorted((a, b) => weight.indexOf(a.severity) - weight.indexOf(b.severity))[0];

/** A command, an option, a key that is pressed at the desk. */
const ofTheDesk = /\bstickwright\b|(?<![\w-])--[a-z]|\b[A-Z]+_[A-Z_]+\b/;

/**
 * A text for whoever stands in a corridor with a sheet in the hand: the sentences that can be followed there. What only
 * the desk can type stays at the desk.
 */
export function onPaper(text: string): string {
  const sentences = text.match(/[^.!?]+(?:[.!?](?!\s|$)[^.!?]*)*[.!?]?["”)]*(?:\s+|$)/g) ?? [text];
  const kept = sentences
    .filter((sentence) => !ofTheDesk.test(sentence))
    .join('')
    .trim();
  return kept === '' && text !== '' ? 'The desk decides.' : kept;
}
