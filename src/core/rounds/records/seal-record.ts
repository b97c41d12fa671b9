import canonicalize from 'canonicalize';
import { z } from 'zod';
import { type RoundRecord, roundRecordSchema } from '../../model/round-record.ts';

type Sha256 = (text: string) => string;
type WithoutDigest<One> = One extends RoundRecord ? Omit<One, 'selfSha256'> : never;

/** A record before it has its own digest. */
export type UnsealedRecord = WithoutDigest<RoundRecord>;

/** Adds the digest that tells a whole line from a torn or a changed one. */
export const sealRecord = <One extends UnsealedRecord>(record: One, sha256: Sha256): One & { selfSha256: string } => ({
  ...record,
  selfSha256: sha256(canonicalForm(record)),
});

/** RFC 8785, over all members but the digest. */
export function canonicalForm(record: UnsealedRecord): string {
  const text = canonicalize({ ...record, selfSha256: undefined });
  if (text === undefined) throw new TypeError('a record always has a canonical form');
  return text;
}

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

export type LineReading =
  | { readonly state: 'broken'; readonly problem: string }
  /** A later version of the tool wrote it. */
  | { readonly state: 'newer'; readonly problem: string }
  | { readonly state: 'whole'; readonly record: RoundRecord };

/** Reads one line; it is whole only if its own digest matches. Never throws on bad text. */
export function parseRecordLine(text: string, sha256: Sha256): LineReading {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return { state: 'broken', problem: 'it is not JSON: cut short, or overwritten' };
  }
  const schema = typeof json === 'object' && json !== null && 'schema' in json ? json.schema : undefined;
  if (typeof schema === 'string' && /^stickwright\/round-record\/(?!1$)\d+$/.test(schema)) {
    return { state: 'newer', problem: `it has the form ${schema}, of a later version of stickwright` };
  }
  const parsed = roundRecordSchema.safeParse(json);
  if (!parsed.success) {
    const problem = z.prettifyError(parsed.error).split('\n').slice(0, 2).join(' ').replace(/\s+/g, ' ');
    return { state: 'broken', problem };
  }
  if (sha256(canonicalForm(parsed.data)) !== parsed.data.selfSha256) {
    return { state: 'broken', problem: 'its own SHA-256 does not match: it was changed after it was written' };
  }
  return { state: 'whole', record: parsed.data };
}
