import canonicalize from 'canonicalize';
import * as z from 'zod';
import { ambiguityOf } from './strict-json.ts';

/** SHA-256 of a text's UTF-8 bytes, in lower hex. */
export type Sha256 = (text: string) => string;

/**
 * A JSON document that carries the SHA-256 over the RFC 8785 form of its other members, so that half of it is not taken
 * for all.
 */
interface DigestedDocument {
  readonly schema: string;
  readonly selfSha256: string;
}

export type DocumentReading<Document> =
  /** It is not what was written, or not readable at all. */
  | { readonly state: 'broken'; readonly problem: string }
  /** A later version of the tool wrote it. */
  | { readonly state: 'newer'; readonly schema: string }
  | { readonly state: 'whole'; readonly document: Document };

/** RFC 8785, over all members but the digest. */
export function canonicalForm(document: object): string {
  const text = canonicalize({ ...document, selfSha256: undefined });
  if (text === undefined) throw new TypeError('a value that JSON has no form for');
  return text;
}

/** Adds the digest that lets any later reader see whether the document is whole. */
export const withOwnDigest = <Document extends object>(
  document: Document,
  sha256: Sha256,
): Document & { readonly selfSha256: string } => ({ ...document, selfSha256: sha256(canonicalForm(document)) });

/** The shapes that a kind of document has had, by its version: those of earlier ones are read for ever. */
type Shapes<Document> = Readonly<Record<number, z.ZodType<Document>>>;

/**
 * Reads a document of `stickwright/KIND/VERSION`: the one reader for all of them. It is whole only if it can be read in
 * one way, has its version's members and no others, and its own digest matches, which every form but the first of a
 * round's plan has. Never throws on bad text.
 */
export function parseDocument<Document extends Pick<DigestedDocument, 'schema'> & Partial<DigestedDocument>>(
  text: string,
  kind: string,
  shapes: Shapes<Document>,
  sha256: Sha256,
): DocumentReading<Document> {
  const reading = parseShape(text, kind, shapes);
  if (reading.state !== 'whole') return reading;
  const { selfSha256 } = reading.document;
  if (selfSha256 === undefined || sha256(canonicalForm(reading.document)) === selfSha256) return reading;
  return { state: 'broken', problem: 'its own SHA-256 does not match: it was changed after it was written' };
}

/** The same of a seal, which carries no digest of its own. */
export function parseShape<Document extends { readonly schema: string }>(
  text: string,
  kind: string,
  shapes: Shapes<Document>,
): DocumentReading<Document> {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return { state: 'broken', problem: 'it is not JSON: cut short, or overwritten' };
  }
  const problem = ambiguityOf(text);
  if (problem !== undefined) return { state: 'broken', problem };
  const { schema, version } = statedIn(json, `stickwright/${kind}/`);
  const known = Object.keys(shapes).map(Number);
  if (version > Math.max(...known)) return { state: 'newer', schema };
  const parsed = (shapes[version] ?? shapes[Math.min(...known)] ?? z.never()).safeParse(json);
  if (parsed.success) return { state: 'whole', document: parsed.data };
  const told = z.prettifyError(parsed.error).split('\n').slice(0, 2).join(' ');
  return { state: 'broken', problem: told.replace(/\s+/g, ' ') };
}

/** Version 0 where it states none of that kind. */
function statedIn(json: unknown, start: string): { readonly schema: string; readonly version: number } {
  const stated = typeof json === 'object' && json !== null && 'schema' in json ? json.schema : undefined;
  const schema = typeof stated === 'string' && stated.startsWith(start) ? stated : '';
  return { schema, version: Number(/^[1-9]\d{0,8}$/.exec(schema.slice(start.length))?.[0] ?? 0) };
}
