import { createHash } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { readByteCount, readHashesSaid } from '../../../src/core/text/published.ts';

const name = 'reed.1717_5B_second_K2.zip';
const sha256 = createHash('sha256').update('the package').digest('hex');
const other = createHash('sha256').update('another').digest('hex');
const why = (hash: string): string => {
  const read = readHashesSaid({ hash }, name);
  return read.state === 'wrong' ? read.why : read.state;
};

describe('what somebody pasted as published', () => {
  // The numbers of digits: FIPS 180-4, section 1, and RFC 1321; by Node's own digests here.
  it.each([
    ['SHA-256', 'sha256'],
    ['SHA-512', 'sha512'],
    ['SHA-384', 'sha384'],
    ['SHA-1', 'sha1'],
    ['MD5', 'md5'],
  ])('a bare %s is known by its length, also in groups and in capitals', (algorithm, kind) => {
    const hex = createHash(kind).update('the package').digest('hex');
    for (const hash of [hex, ` ${hex.toUpperCase()}\n`, hex.replace(/(.{8})/g, '$1 ')])
      expect(readHashesSaid({ hash }, name)).toEqual({
        state: 'read',
        hashes: [{ algorithm, hex, fileName: undefined }],
      });
  });

  it('takes the line of a list that names the file, and says where none does', () => {
    const list = `${other}  reed.746_5B_second_K2.zip\n${sha256} *${name.toUpperCase()}\n`;
    expect(readHashesSaid({ hash: list }, name)).toMatchObject({ state: 'read', hashes: [{ hex: sha256 }] });
    expect(why(`${other}  reed.746_5B_second_K2.zip`)).toBe(
      `It names 1 file, and none is called ${name}: reed.746_5B_second_K2.zip.`,
    );
    expect(why(`${sha256}  ${name}\n${other}  ${name}`)).toBe(
      `Two values of SHA-256 stand there: keep the one of ${name}.`,
    );
    expect(why(`SHA256: ${sha256}\nSHA256: ${other}`)).toContain('Two values of SHA-256');
  });

  it('says what cannot be: a digit too few, a letter that is none, something else', () => {
    expect(why(sha256.slice(1))).toMatch(/^It has 63 digits: SHA-256 64, SHA-512 128,.* Copy it whole/);
    expect(why(`${sha256.slice(1)}O`)).toBe('"O" is no digit of a hash: those are 0 to 9 and a to f.');
    expect(why('see the release note')).toMatch(/^That is no hash/);
    expect(why('  ')).toBe('nothing');
  });

  it('takes an exact length, in groups as pages print it, and no rounded one', () => {
    for (const text of ['1234567', '1,234,567', '1.234.567', '1 234 567', "1'234'567"])
      expect(readByteCount(text)).toBe(1_234_567);
    for (const text of ['1.2 GB', '1,23', '', '-5', '0', '99999999999999999999'])
      expect(readByteCount(text)).toBeUndefined();
  });
});
