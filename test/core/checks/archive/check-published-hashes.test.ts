import { describe, expect, it } from 'vitest';
import {
  checkPublishedHashes,
  digestsFor,
  type HashClaim,
} from '../../../../src/core/checks/archive/check-published-hashes.ts';

const digests = { sha256: 'aa', sha512: undefined, sha1: 'bb', md5: 'cc' };
const claim = (algorithm: HashClaim['algorithm'], hex: string): HashClaim => ({ algorithm, hex, from: 'SHA256SUMS' });
const codes = (claims: readonly HashClaim[], expected = true) =>
  checkPublishedHashes(claims, digests, expected).map(({ code }) => code);

describe('what was published against what was read', () => {
  it.each([
    ['right', [claim('SHA-256', 'aa')], ['archive/hash-matches']],
    ['wrong', [claim('SHA-256', 'ab')], ['archive/hash-differs']],
    ['weak and right', [claim('MD5', 'cc')], ['archive/hash-matches', 'archive/hash-weak']],
    ['weak and wrong', [claim('SHA-1', 'cc')], ['archive/hash-differs', 'archive/hash-weak']],
    [
      'weak beside strong',
      [claim('MD5', 'cc'), claim('SHA-256', 'aa')],
      ['archive/hash-matches', 'archive/hash-matches'],
    ],
    [
      'one of two wrong',
      [claim('MD5', 'cd'), claim('SHA-256', 'aa')],
      ['archive/hash-differs', 'archive/hash-matches'],
    ],
    ['none', [], ['archive/no-published-hash']],
  ])('%s', (_, claims, expected) => {
    expect(codes(claims)).toEqual(expected);
  });

  it('does not hold a missing hash against a maker who publishes none', () => {
    expect(codes([], false)).toEqual([]);
  });

  it('asks only for the digests that are compared', () => {
    expect(digestsFor([claim('SHA-256', 'aa')])).toEqual([]);
    expect(digestsFor([claim('MD5', 'a'), claim('MD5', 'b'), claim('SHA-512', 'c')])).toEqual(['md5', 'sha512']);
  });
});
