import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { findPublishedHashes } from '../../../src/io/archive/find-published-hashes.ts';
import { withFolder } from '../../fixtures/archives/read-bytes.ts';

const sha256 = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'; // "abc", FIPS 180-2 B.1
const md5 = '900150983cd24fb0d6963f7d28e17f72'; // "abc", RFC 1321 A.5

const beside = (lists: Readonly<Record<string, string | Buffer>>) =>
  withFolder(async (folder) => {
    for (const [name, text] of Object.entries(lists)) await writeFile(join(folder, name), text);
    const { claims, findings } = await findPublishedHashes(join(folder, 'pack.zip'));
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

  it('leaves other files alone', async () => {
    expect(await beside({ 'readme.txt': sha256, 'pack2.zip.sha256': sha256, 'pack.zip.pdf': sha256 })).toEqual({
      claims: [],
      codes: [],
    });
  });
});
