import { type Finding, finding } from '../../findings/finding.ts';
import type { Digests } from '../../model/archive-facts.ts';
import type { HashAlgorithm } from './parse-checksum-list.ts';

/** A value that somebody published, or copied from the support page, for this very file. */
export interface HashClaim {
  readonly algorithm: HashAlgorithm;
  /** Lower hex. */
  readonly hex: string;
  /** Who says so, for the message: a file's name, "the command line". */
  readonly from: string;
}

const fieldOf = { 'SHA-512': 'sha512', 'SHA-256': 'sha256', 'SHA-1': 'sha1', MD5: 'md5' } as const;
const weak: ReadonlySet<HashAlgorithm> = new Set(['SHA-1', 'MD5']);

/** The digests that a pass must compute, beside SHA-256, so that these claims can be compared. */
export const digestsFor = (claims: readonly HashClaim[]): readonly ('sha512' | 'sha1' | 'md5')[] =>
  [...new Set(claims.map(({ algorithm }) => fieldOf[algorithm]))].filter((field) => field !== 'sha256');

/**
 * Compares what was published with what was read. `expected` false: the family says that its maker publishes none, so
 * that having none is no gap.
 */
export function checkPublishedHashes(
  claims: readonly HashClaim[],
  digests: Digests,
  expected: boolean,
): readonly Finding[] {
  if (claims.length === 0) return expected ? [finding('archive/no-published-hash', '')] : [];
  const found = claims.map((claim) => compare(claim, digests));
  const strong = claims.some(({ algorithm }) => !weak.has(algorithm));
  const [first] = claims;
  if (!strong && first !== undefined) {
    found.push(finding('archive/hash-weak', '', { algorithm: first.algorithm, from: first.from }));
  }
  return found;
}

function compare({ algorithm, hex, from }: HashClaim, digests: Digests): Finding {
  const computed = digests[fieldOf[algorithm]] ?? 'not computed';
  return computed === hex
    ? finding('archive/hash-matches', '', { algorithm, from })
    : finding('archive/hash-differs', '', { algorithm, from, published: hex, computed });
}
