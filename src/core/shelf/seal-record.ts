import canonicalize from 'canonicalize';
import * as z from 'zod';
import { type ShelfRecord, shelfRecordSchema } from './shelf-record.ts';

type Sha256 = (text: string) => string;
type Unsealed = Omit<ShelfRecord, 'selfSha256'>;

/** Adds the digest that lets any later reader see whether the record is whole. */
export const sealRecord = (record: Unsealed, sha256: Sha256): ShelfRecord => ({
  ...record,
  selfSha256: sha256(canonicalForm(record)),
});

/** RFC 8785, over all members but the digest. */
function canonicalForm(record: Unsealed): string {
  const text = canonicalize({ ...record, selfSha256: undefined });
  if (text === undefined) throw new TypeError('a record always has a canonical form');
  return text;
}

export const serialiseRecord = (record: ShelfRecord): string => `${JSON.stringify(record, null, 2)}\n`;

export type RecordReading =
  | { readonly state: 'broken'; readonly problem: string }
  /** A later version of the tool wrote it. */
  | { readonly state: 'newer'; readonly schema: string }
  | { readonly state: 'whole'; readonly record: ShelfRecord };

/** Reads a record's text; it is whole only if its own digest matches. Never throws on bad text. */
export function parseRecord(text: string, sha256: Sha256): RecordReading {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return { state: 'broken', problem: 'it is not JSON; it was cut short or overwritten' };
  }
  const schema = typeof json === 'object' && json !== null && 'schema' in json ? json.schema : undefined;
  if (typeof schema === 'string' && /^stickwright\/shelf-record\/(?!1$)\d+$/.test(schema)) {
    return { state: 'newer', schema };
  }
  const parsed = shelfRecordSchema.safeParse(json);
  if (!parsed.success) {
    const problem = z.prettifyError(parsed.error).split('\n').slice(0, 2).join(' ').replace(/\s+/g, ' ');
    return { state: 'broken', problem };
  }
  if (sha256(canonicalForm(parsed.data)) !== parsed.data.selfSha256) {
    return { state: 'broken', problem: 'its own SHA-256 does not match: it was changed after it was written' };
  }
  return { state: 'whole', record: parsed.data };
}
