import { type DocumentReading, parseDocument, type Sha256, withOwnDigest } from '../../documents/own-digest.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { type Load, type Round, round1Schema, roundFileSchema } from '../../model/round.ts';
import { type RoundRecord, roundRecordShapes } from '../../model/round-record.ts';

export type WithoutDigest<One> = One extends RoundRecord ? Omit<One, 'selfSha256'> : never;

/** A record before it has its own digest. */
export type RoundRecordWithoutDigest = WithoutDigest<RoundRecord>;

/** Adds the digest that tells a whole line from a torn or a changed one. */
export const roundRecordWithDigest = <One extends RoundRecordWithoutDigest>(
  record: One,
  sha256: Sha256,
): One & { selfSha256: string } => withOwnDigest(record, sha256);

/**
 * How every line begins. Inside a JSON string a quotation mark is escaped, so this text stands nowhere else: where it
 * appears in the middle of a line, a torn line was joined by a later one.
 */
export const lineStart = '{"schema":"stickwright/round-record/';

/** One line, without its line break. */
export function serialiseRoundRecord(record: RoundRecord): string {
  const { schema, ...others } = record;
  return JSON.stringify({ schema, ...others });
}

/** Reads one line; it is whole only if its own digest matches. Never throws on bad text. */
export const parseRecordLine = (text: string, sha256: Sha256): DocumentReading<RoundRecord> =>
  parseDocument<RoundRecord>(text, 'round-record', roundRecordShapes, sha256);

const older = 'round/older-plan';

/** With its digest, as its folder keeps it. */
export const serialiseRound = (round: Round, sha256: Sha256): string =>
  `${JSON.stringify(withOwnDigest(round, sha256), null, 2)}\n`;

/**
 * Reads a kept plan; it is whole only if nothing in it was changed. One of version 1 carries no digest: what it says is
 * taken, and each of its loads says that nobody can tell whether it was changed. Never throws on bad text.
 */
export function parseRound(text: string, sha256: Sha256): DocumentReading<Round> {
  const shapes = { 1: round1Schema, 2: roundFileSchema };
  const reading = parseDocument<FirstRound | RoundWithDigest>(text, 'round', shapes, sha256);
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
type RoundWithDigest = ReturnType<typeof roundFileSchema.parse>;

/** What a kept plan cannot prove of itself. */
export const checkKeptPlan = (loads: readonly Pick<Load, 'unproven'>[], place: string): readonly Finding[] =>
  loads.some(({ unproven }) => unproven.includes(older)) ? [finding(older, place)] : [];
