import { describe, expect, it } from 'vitest';
import { parseChecksumList } from '../../../src/core/text/checksum-list.ts';

// SHA-256 and SHA-1 of "abc" from FIPS 180-2 appendices B and A, MD5 from RFC 1321 A.5.
const sha256 = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';
const sha1 = 'a9993e364706816aba3e25717850c26c9cd0d89d';
const md5 = '900150983cd24fb0d6963f7d28e17f72';
const of = (hex: string, fileName: string | undefined, algorithm = 'SHA-256') => ({ algorithm, hex, fileName });

describe('checksum lists in every common form', () => {
  it.each([
    ['GNU, text', `${sha256}  a.zip\n`, [of(sha256, 'a.zip')]],
    ['GNU, binary', `${sha256} *a.zip\n`, [of(sha256, 'a.zip')]],
    ['one space', `${sha256} a.zip`, [of(sha256, 'a.zip')]],
    ['a tab', `${sha256}\ta.zip`, [of(sha256, 'a.zip')]],
    ['a folder before the name', `${sha256}  ./out/a.zip`, [of(sha256, 'a.zip')]],
    ['a Windows folder', `${sha256} *C:\\out\\a.zip`, [of(sha256, 'a.zip')]],
    ['upper case', `${sha256.toUpperCase()}  A.zip`, [of(sha256, 'A.zip')]],
    ['CRLF', `${sha256}  a.zip\r\n${sha1}  b.zip\r\n`, [of(sha256, 'a.zip'), of(sha1, 'b.zip', 'SHA-1')]],
    ['byte order mark', `\ufeff${sha256}  a.zip\n`, [of(sha256, 'a.zip')]],
    ['spaces in the name', `${sha256}  my package (1).zip`, [of(sha256, 'my package (1).zip')]],
    ['escaped name', `\\${sha256}  a\\\\b\\nc.zip`, [of(sha256, 'a\\b\nc.zip')]],
    ['bare', sha256, [of(sha256, undefined)]],
    ['bare MD5', `${md5}\n`, [of(md5, undefined, 'MD5')]],
    ['BSD tag', `SHA256 (a.zip) = ${sha256}`, [of(sha256, 'a.zip')]],
    ['BSD tag, brackets in the name', `MD5 (a (1).zip) = ${md5}`, [of(md5, 'a (1).zip', 'MD5')]],
    ['OpenSSL', `SHA2-256(a.zip)= ${sha256}`, [of(sha256, 'a.zip')]],
    ['labelled', `SHA-256: ${sha256}`, [of(sha256, undefined)]],
    ['comments and blank lines', `# published\n\n; too\n${sha256}  a.zip\n`, [of(sha256, 'a.zip')]],
    [
      'certutil',
      `SHA256 hash of a.zip:\r\n${sha256}\r\nCertUtil: -hashfile command completed successfully.\r\n`,
      [of(sha256, 'a.zip')],
    ],
    [
      'older certutil',
      `MD5 hash of file a.zip:\r\n${md5.replace(/(..)(?=.)/g, '$1 ')}\r\nCertUtil: done.\r\n`,
      [of(md5, 'a.zip', 'MD5')],
    ],
    [
      'Get-FileHash',
      `\r\nAlgorithm       Hash                     Path\r\n---------       ----                     ----\r\nSHA256          ${sha256.toUpperCase()}       C:\\x\\a.zip\r\n\r\n`,
      [of(sha256, 'a.zip')],
    ],
    [
      'a signed list',
      `-----BEGIN PGP SIGNED MESSAGE-----\nHash: SHA256\n\n${sha256}  a.zip\n-----BEGIN PGP SIGNATURE-----\n\niQEz\n-----END PGP SIGNATURE-----\n`,
      [of(sha256, 'a.zip')],
    ],
  ])('%s', (_, text, hashes) => {
    expect(parseChecksumList(text)).toEqual({ hashes, unreadable: [] });
  });

  // Of "abc": SHA-384 and SHA-224 from FIPS 180-4's examples; CRC-32 of "123456789" from the catalogue of CRC
  // algorithms.
  const sha384 = 'cb00753f45a35e8bb5a03d699ac65007272c32ab0eded1631a8b605a43ff5bed8086072ba1e7cc2358baeca134c825a7';
  const sha224 = '23097d223405d8228642a477bda255b32aadbce4bda0b3f7e36c9da7';
  it.each([
    ['SHA-384', `${sha384}  a.zip`, [of(sha384, 'a.zip', 'SHA-384')]],
    ['SHA-224, BSD tag', `SHA224 (a.zip) = ${sha224}`, [of(sha224, 'a.zip', 'SHA-224')]],
    ['SHA-384, OpenSSL', `SHA2-384(a.zip)= ${sha384}`, [of(sha384, 'a.zip', 'SHA-384')]],
  ])('%s', (_, text, hashes) => {
    expect(parseChecksumList(text)).toEqual({ hashes, unreadable: [] });
  });

  const crc = 'cbf43926';
  it.each([
    ['simple file verification', `; made by a program\r\na b.zip CBF43926\r\n`, [of(crc, 'a b.zip', 'CRC-32')]],
    ['what crc32 prints', `${crc}\ta.zip\n`, [of(crc, 'a.zip', 'CRC-32')]],
    ['a value alone', `${crc}\n`, [of(crc, undefined, 'CRC-32')]],
    ['a name that looks like a value', `deadbeef ${crc}`, [of(crc, 'deadbeef', 'CRC-32')]],
  ])('CRC-32: %s', (_, text, hashes) => {
    expect(parseChecksumList(text, true)).toEqual({ hashes, unreadable: [] });
  });

  it('takes no 8 digits for a CRC-32 in a list of another kind', () => {
    expect(parseChecksumList(`a.zip ${crc}\n`)).toMatchObject({ hashes: [], unreadable: [{ line: 1 }] });
  });

  it.each([
    ['prose', 'The file was built on Monday.'],
    ['a web page', '<!DOCTYPE html>'],
    ['a value that is too short', `${sha256.slice(1)}  a.zip`],
    ['no hex', `${sha256.slice(1)}g  a.zip`],
    ['a tag that does not fit the length', `MD5 (a.zip) = ${sha256}`],
    ['an algorithm nobody here knows', `BLAKE2b (a.zip) = ${sha256}${sha256}`],
  ])('names the line that it cannot read: %s', (_, line) => {
    const list = parseChecksumList(`${sha256}  good.zip\n${line}\n`);
    expect(list).toEqual({ hashes: [of(sha256, 'good.zip')], unreadable: [{ line: 2, text: line.slice(0, 80) }] });
  });
});
