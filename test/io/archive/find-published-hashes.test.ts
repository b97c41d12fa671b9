import { createHash } from 'node:crypto';
import { symlink, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it, test } from 'vitest';
import { checkHashLists } from '../../../src/core/checks/archive/check-published-hashes.ts';
import { findPublishedHashes, longestListBytes } from '../../../src/io/archive/find-published-hashes.ts';
import { withFolder } from '../../fixtures/archives/read-bytes.ts';

const sha256 = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'; // "abc", FIPS 180-2 B.1
const md5 = '900150983cd24fb0d6963f7d28e17f72'; // "abc", RFC 1321 A.5

const unproven = { tags: ['doubt-stays'] };

const beside = (lists: Readonly<Record<string, string | Buffer>>) =>
  withFolder(async (folder) => {
    for (const [name, text] of Object.entries(lists)) await writeFile(join(folder, name), text);
    const { claims, lists: odd } = await findPublishedHashes(join(folder, 'pack.zip'));
    const findings = checkHashLists(odd);
    return { claims: claims.map(({ hex, from }) => [from, hex]), codes: findings.map(({ code }) => code) };
  });

describe('checksum files beside an archive', () => {
  it.each([
    'pack.zip.sha256',
    'pack.zip.sha256sum',
    'pack.sha256',
    'PACK.ZIP.SHA256',
    'pack.zip.sha256.txt',
    'SHA256SUMS',
    'sha256sum.txt',
    'checksums.txt',
    'SHA256SUMS.txt',
  ])('finds %s', async (name) => {
    expect(await beside({ [name]: `${sha256}  pack.zip\n` })).toEqual({ claims: [[name, sha256]], codes: [] });
  });

  it('takes a bare value from a list of its own name only', async () => {
    expect(await beside({ 'pack.zip.md5': md5 })).toEqual({ claims: [['pack.zip.md5', md5]], codes: [] });
    expect(await beside({ 'checksums.txt': md5 })).toEqual({ claims: [], codes: ['archive/hash-list-silent'] });
  });

  it('reads UTF-16 as PowerShell writes it', async () => {
    const text = Buffer.from(`\ufeff${sha256}  pack.zip\r\n`, 'utf16le');
    expect(await beside({ 'pack.zip.sha256': text })).toEqual({ claims: [['pack.zip.sha256', sha256]], codes: [] });
  });

  it('takes several lists', async () => {
    const { claims } = await beside({ SHA256SUMS: `${sha256}  pack.zip\n${sha256}  b.zip\n`, 'pack.zip.md5': md5 });
    expect(claims).toEqual([
      ['SHA256SUMS', sha256],
      ['pack.zip.md5', md5],
    ]);
  });

  it('tells a list that names other files from one that cannot be read', async () => {
    expect(await beside({ SHA256SUMS: `${sha256}  other.zip\n` })).toEqual({
      claims: [],
      codes: ['archive/hash-list-silent'],
    });
    expect(await beside({ 'pack.zip.sha256': '<html>Sign in</html>\n' })).toEqual({
      claims: [],
      codes: ['archive/hash-list-unreadable'],
    });
  });

  const sha384 = createHash('sha384').update('abc').digest('hex');
  test.each(['pack.zip.sha384', 'pack.sha384sum', 'SHA384SUMS', 'sha384sums.txt', 'pack.zip.sha', 'CHECKSUMS'])(
    'finds %s with a SHA-384',
    unproven,
    async (name) => {
      expect(await beside({ [name]: `${sha384}  pack.zip\n` })).toEqual({ claims: [[name, sha384]], codes: [] });
    },
  );

  test.each(['pack.sfv', 'pack.zip.sfv', 'release 2026.sfv', 'pack.zip.crc32', 'pack.crc'])(
    'finds %s with a CRC-32',
    unproven,
    async (name) => {
      expect(await beside({ [name]: '; list\r\npack.zip 352441C2\r\n' })).toEqual({
        claims: [[name, '352441c2']],
        codes: [],
      });
    },
  );

  const others = [
    'b2',
    'b2sum',
    'b3',
    'blake3',
    'blake2b',
    'sha3-256',
    'sha3',
    'xxh64',
    'md4',
    'rmd160',
    'whirlpool',
    'cksum',
  ];
  test.each([...others.map((kind) => `pack.zip.${kind}`), 'pack.b3', 'B2SUMS', 'sha3-256sums.txt'])(
    'says that %s was seen and cannot be used',
    unproven,
    async (name) => {
      expect(await beside({ [name]: `${sha256}  pack.zip\n` })).toEqual({
        claims: [],
        codes: ['archive/hash-list-not-used'],
      });
    },
  );

  test('reads a list of more than 1 MiB, and says so where one is too long or cannot be opened', unproven, async () => {
    const lines = Array.from({ length: 20_000 }, (_, at) => `${sha256}  other-${at}.zip\n`).join('');
    expect(lines.length).toBeGreaterThan(2 ** 20);
    expect(await beside({ SHA256SUMS: `${lines}${sha256}  pack.zip\n` })).toEqual({
      claims: [['SHA256SUMS', sha256]],
      codes: [],
    });
    const long = Buffer.alloc(longestListBytes + 1, '\n');
    expect((await beside({ 'pack.zip.sha256': long })).codes).toEqual(['archive/hash-list-not-used']);
    await withFolder(async (folder) => {
      await symlink('nowhere', join(folder, 'pack.zip.sha256'));
      const findings = checkHashLists((await findPublishedHashes(join(folder, 'pack.zip'))).lists);
      expect(findings.map(({ code, facts }) => [code, facts])).toMatchObject([
        ['archive/hash-list-not-used', { because: 'unopened' }],
      ]);
    });
  });

  test(
    'takes from a list of something else what it says of the archive, and blames it for nothing',
    unproven,
    async () => {
      expect(
        await beside({ 'release-14.sha256': `${sha256}  pack.zip\n${md5}  notes.pdf\n`, 'other.md5': 'not one\n' }),
      ).toEqual({ claims: [['release-14.sha256', sha256]], codes: [] });
    },
  );

  it('leaves other files alone', async () => {
    expect(await beside({ 'readme.txt': sha256, 'pack2.zip.sha256': sha256, 'pack.zip.pdf': sha256 })).toEqual({
      claims: [],
      codes: [],
    });
  });
});
