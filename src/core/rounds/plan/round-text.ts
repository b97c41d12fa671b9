import { type Finding, finding } from '../../findings/finding.ts';
import { type Load, type Round, round1Schema, roundFileSchema } from '../../model/round.ts';
import { type DocumentReading, parseDocument, type Sha256, sealDocument } from '../../sealed/sealed-document.ts';

const older = 'round/older-plan';

/** With its digest, as its folder keeps it. */
export const serialiseRound = (round: Round, sha256: Sha256): string =>
  `${JSON.stringify(sealDocument(round, sha256), null, 2)}\n`;

/**
 * Reads a kept plan; it is whole only if nothing in it was changed. One of version 1 carries no digest: what it says is taken,
 * and each of its loads says that nobody can tell whether it was changed. Never throws on bad text.
 */
export function parseRound(text: string, sha256: Sha256): DocumentReading<Round> {
  const shapes = { 1: round1Schema, 2: roundFileSchema };
  const reading = parseDocument<FirstRound | SealedRound>(text, 'round', shapes, sha256);
  if (reading.state !== 'whole') return reading;
  const { document } = reading;
  if (document.schema === 'stickwright/round/2') {
    const { selfSha256: _checked, ...round } = document;
    return { state: 'whole', document: round };
  }
  const loads = document.loads.map((load) => ({ ...load, unproven: [older] }));
  return { state: 'whole', document: { ...document, schema: 'stickwright/round/2', loads } };
}

type FirstRound = ReturnType<typeof round1Schema.parse>;
type SealedRound = ReturnType<typeof roundFileSchema.parse>;

/** What a kept plan cannot prove of itself. */
export const checkKeptPlan = (loads: readonly Pick<Load, 'unproven'>[], place: string): readonly Finding[] =>
  loads.some(({ unproven }) => unproven.includes(older)) ? [finding(older, place)] : [];
