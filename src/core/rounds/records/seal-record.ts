import { type RoundRecord, roundRecordShapes } from '../../model/round-record.ts';
import { type DocumentReading, parseDocument, type Sha256, sealDocument } from '../../sealed/sealed-document.ts';

type WithoutDigest<One> = One extends RoundRecord ? Omit<One, 'selfSha256'> : never;

/** A record before it has its own digest. */
export type UnsealedRecord = WithoutDigest<RoundRecord>;

/** Adds the digest that tells a whole line from a torn or a changed one. */
export const sealRecord = <One extends UnsealedRecord>(record: One, sha256: Sha256): One & { selfSha256: string } =>
  sealDocument(record, sha256);

/**
 * How every line begins. Inside a JSON string a quotation mark is escaped, so this text stands nowhere else: where it
 * appears in the middle of a line, a torn line was joined by a later one.
 */
export const lineStart = '{"schema":"stickwright/round-record/';

/** One line, without its line break. */
export function serialiseRecord(record: RoundRecord): string {
  const { schema, ...others } = record;
  return JSON.stringify({ schema, ...others });
}

/** Reads one line; it is whole only if its own digest matches. Never throws on bad text. */
export const parseRecordLine = (text: string, sha256: Sha256): DocumentReading<RoundRecord> =>
  parseDocument<RoundRecord>(text, 'round-record', roundRecordShapes, sha256);
