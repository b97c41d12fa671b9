import type { FactsOf } from '../../findings/catalogue.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { AskedDigest, Digests } from '../../model/archive-facts.ts';
import type { Family } from '../../model/family.ts';
import type { HashAlgorithm } from '../../text/checksum-list.ts';
import type { SignatureFacts } from '../../update-package/update-package-facts.ts';

/** A value that somebody published, or copied from the support page, for this very file. */
export interface HashClaim {
  readonly algorithm: HashAlgorithm;
  /** Lower hex. */
  readonly hex: string;
  /** Who says so, for the message: a file's name, "the command line". */
  readonly from: string;
  /**
   * The desk itself remembers it of a file that nobody could compare with its maker's word: it shows rot, and proves no
   * origin.
   */
  readonly kept?: boolean;
}

/** A checksum file beside the archive that cannot be used, or not for it. */
export type HashListFact = { readonly name: string } & (
  | { readonly state: 'not-used'; readonly because: 'kind' | 'too-long' | 'unopened'; readonly mostBytes: number }
  | { readonly state: 'unreadable'; readonly line: FactsOf<'archive/hash-list-unreadable'> }
  | { readonly state: 'silent'; readonly names: readonly string[] }
);

/** What checksum files beside an archive say about it, and which of them cannot be used. */
export interface PublishedHashes {
  readonly claims: readonly HashClaim[];
  /** Lists that cannot be used, or name only other files. */
  readonly lists: readonly HashListFact[];
}

export const checkHashLists = (lists: readonly HashListFact[]): readonly Finding[] => lists.map(checkHashList);

function checkHashList(list: HashListFact): Finding {
  switch (list.state) {
    case 'not-used':
      return finding('archive/hash-list-not-used', list.name, { because: list.because, most: list.mostBytes });
    case 'unreadable':
      return finding('archive/hash-list-unreadable', list.name, list.line);
    case 'silent':
      return finding('archive/hash-list-silent', list.name, { names: list.names });
  }
}

const fieldOf = {
  'SHA-512': 'sha512',
  'SHA-384': 'sha384',
  'SHA-256': 'sha256',
  'SHA-224': 'sha224',
  'SHA-1': 'sha1',
  MD5: 'md5',
  'CRC-32': 'crc32',
} as const;
const weak: ReadonlySet<HashAlgorithm> = new Set(['SHA-1', 'MD5', 'CRC-32']);

/** The digests that a pass must compute, beside SHA-256, so that these claims can be compared. */
export const digestsFor = (claims: readonly HashClaim[]): readonly AskedDigest[] =>
  [...new Set(claims.map(({ algorithm }) => fieldOf[algorithm]))].filter((field) => field !== 'sha256');

/**
 * A published hash is missed unless every family says that its maker publishes none, or a signature by a trusted key
 * stands for it.
 */
export function expectsHash(families: readonly Family[], signature: SignatureFacts, always = false): boolean {
  if (always) return true;
  const vouchedFor = signature.state === 'read' && signature.trusted.some(({ verifies }) => verifies);
  return !publishesNone(families) && !vouchedFor;
}

const publishesNone = (families: readonly Family[]): boolean =>
  families.length > 0 && families.every((family) => family['published-hash'] === 'none');

/**
 * What is certain of published hashes before the archive is read, so that it is said before anybody agrees. TRUSTS:
 * there are keys that a signature could be by, and whether it is shows in the reading only.
 */
export function foreseePublishedHashes(
  claims: readonly HashClaim[],
  families: readonly Family[],
  { trusts, always }: { readonly trusts: boolean; readonly always: boolean },
): readonly Finding[] {
  const isMissed = always || (!trusts && !publishesNone(families));
  return isMissed && !claims.some(({ kept }) => kept !== true) ? [finding('archive/no-published-hash', '')] : [];
}

/**
 * Compares what was published with what was read. `expected` false: the family says that its maker publishes none, so
 * that having none is no gap.
 */
export function checkPublishedHashes(
  claims: readonly HashClaim[],
  digests: Digests,
  expected: boolean,
): readonly Finding[] {
  const found = claims.map((claim) => compare(claim, digests));
  const published = claims.filter(({ kept }) => kept !== true);
  const [first] = published;
  if (first === undefined) return expected ? [...found, finding('archive/no-published-hash', '')] : found;
  if (expected && published.every(({ algorithm }) => algorithm === 'CRC-32')) {
    found.push(finding('archive/hash-crc-only', '', { from: first.from }));
  } else if (published.every(({ algorithm }) => weak.has(algorithm))) {
    found.push(finding('archive/hash-weak', '', { algorithm: first.algorithm, from: first.from }));
  }
  return found;
}

function compare({ algorithm, hex, from, kept }: HashClaim, digests: Digests): Finding {
  const computed = digests[fieldOf[algorithm]] ?? 'not computed';
  return computed === hex
    ? finding(kept === true ? 'archive/as-kept' : 'archive/hash-matches', '', { algorithm, from })
    : finding('archive/hash-differs', '', { algorithm, from, published: hex, computed });
}
