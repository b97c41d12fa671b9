import { catalogue, entryOf, type FindingCode } from './catalogue.ts';
import { type Finding, severityOf } from './finding.ts';

/** A later step that asks a question again by itself, so that the doubt of an earlier one need not be carried along. */
export type Asking = 'reading-the-archive' | 'verify';

/**
 * All that settles a doubt without a person. A doubt that does not stand here is carried from each document to the
 * next: shelf record, plan, manifest, card, verify. Who adds a line says which finding of that step answers the same
 * question anew.
 */
const settled: Readonly<Partial<Record<FindingCode, Asking>>> = {
  // Every pass over the archive compares it with published hashes (or a trusted signer, or the family's word that there
  // are none), and says so again where it cannot; what only the shelf remembers of the bytes counts for none of these.
  'archive/no-published-hash': 'reading-the-archive',
  'archive/hash-crc-only': 'reading-the-archive',
  // Every verify reads all content, and says verify/read-from-cache or verify/content-not-read where it did not come
  // from the stick.
  'plan/read-back-from-cache': 'verify',
  // Every verify looks into all that the manifest does not name, and says verify/not-looked-into.
  'stick/not-looked-into': 'verify',
  // Every verify looks for other volumes, and says the same again where it cannot.
  'stick/rest-not-looked-at': 'verify',
  // Every verify first lets the system write down what it holds of the stick, and says so again where it cannot.
  'stick/eject-due': 'verify',
};

export const isSettledBy = (asking: Asking, code: string): boolean => settled[code as FindingCode] === asking;

export const doubtsOf = (findings: readonly Finding[]): readonly Finding[] =>
  findings.filter((found) => severityOf(found) === 'unproven');

/** The code that a doubt began with: what the shelf or a plan repeats keeps the name of what was found. */
export function rootCodeOf(found: Pick<Finding, 'code' | 'facts'>): string {
  const { code } = found.facts as { readonly code?: unknown };
  return repeating.has(found.code) && typeof code === 'string' ? code : found.code;
}

const repeating: ReadonlySet<FindingCode> = new Set<FindingCode>(['shelf/unproven-when-added', 'verify/was-unproven']);

/** What a code means in a few words, also one of a later version, whose words are not known. */
export const titleOf = (code: string): string =>
  Object.hasOwn(catalogue, code) ? entryOf(code as FindingCode).title : code;
