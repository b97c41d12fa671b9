import { describe, expect, it } from 'vitest';
import {
  checkHashLists,
  checkPublishedHashes,
  digestsFor,
  expectsHash,
  foreseePublishedHashes,
  type HashClaim,
} from '../../../../src/core/checks/archive/check-published-hashes.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import type { SignatureFacts } from '../../../../src/core/update-package/update-package-facts.ts';
import { familyNamed, sampleFamilies } from '../../label/families.ts';

const digests = { sha256: 'aa', sha512: undefined, sha1: 'bb', md5: 'cc', crc32: 'dd' };
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
    [
      'only what the desk remembers itself',
      [{ ...claim('SHA-256', 'aa'), kept: true }],
      ['archive/as-kept', 'archive/no-published-hash'],
    ],
    [
      'a CRC-32 beside a strong one',
      [claim('CRC-32', 'dd'), claim('SHA-256', 'aa')],
      ['archive/hash-matches', 'archive/hash-matches'],
    ],
    ['a CRC-32 alone', [claim('CRC-32', 'dd')], ['archive/hash-matches', 'archive/hash-crc-only']],
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

  it.each(['kind', 'too-long', 'unopened'] as const)('says why a list is not used: %s', (because) => {
    expect(checkHashLists([{ name: 'SHA256SUMS', state: 'not-used', because, mostBytes: 9 }])).toMatchObject([
      { subject: 'SHA256SUMS', facts: { because, most: 9 } },
    ]);
  });
});

describe('a published hash is missed', async () => {
  const families = await sampleFamilies();
  const [sedge, basalt] = ['sedge', 'basalt'].map((name) => familyNamed(families, name)); // basalt's maker has none
  const none = { state: 'none' } as const;
  const signed = (...verifies: readonly boolean[]) =>
    ({ state: 'read', trusted: verifies.map((one) => ({ verifies: one })) }) as unknown as SignatureFacts;
  it.each([
    ['of no family', [], none, true],
    ['of a family whose maker publishes them', [sedge], none, true],
    ['of one whose maker has none', [basalt], none, false],
    ['where either may be meant', [basalt, sedge], none, true],
    ['where a key that is trusted stands for it, among others', [sedge], signed(false, true), false],
    ['where no key that is trusted does', [sedge], signed(false), true],
    ['where neither is wanted', [basalt], signed(true), false],
  ])('%s: %#', (_, of, signature, expected) => {
    expect(expectsHash(of as readonly Family[], signature)).toBe(expected);
    expect(expectsHash(of as readonly Family[], signature, true)).toBe(true);
  });

  const kept = { ...claim('SHA-256', 'aa'), kept: true };
  it.each<[string, readonly unknown[], readonly HashClaim[], boolean, boolean, boolean]>([
    ['of a maker who publishes them', [sedge], [], false, false, true],
    ['of no family', [], [], false, false, true],
    ['of a maker who has none', [basalt], [], false, false, false],
    ['of such a one, where it is asked for all the same', [basalt], [], false, true, true],
    ['where a key may stand for it', [sedge], [], true, false, false],
    ['where a key may, and it is asked for all the same', [sedge], [], true, true, true],
    ['where there is one', [sedge], [claim('SHA-256', 'aa')], false, false, false],
    ['where there is one beside what the desk remembers', [sedge], [kept, claim('MD5', 'bb')], false, true, false],
    ['where the desk alone remembers it', [sedge], [kept], false, false, true],
  ])('before anything is read, and it is certain: %s', (_, of, claims, trusts, always, isMissed) => {
    const found = foreseePublishedHashes(claims, of as readonly Family[], { trusts, always });
    expect(found.map(({ code }) => code)).toEqual(isMissed ? ['archive/no-published-hash'] : []);
  });
});
