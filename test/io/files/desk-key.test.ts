import { chmodSync, copyFileSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { isSignedBy, keyFiles, newDeskKey, readDeskKey, readTrustedKey } from '../../../src/io/files/desk-key.ts';
import { makeScratch, type Scratch } from '../../fixtures/volumes/scratch.ts';

let scratch: Scratch;
let files: ReturnType<typeof keyFiles>;
beforeEach(() => {
  scratch = makeScratch();
  files = keyFiles({ STICKWRIGHT_SEAL_KEY: join(scratch.path, 'seal', 'desk.key') });
});
afterEach(() => scratch.undo());

// Windows has no such bits; there the user's own folder keeps others out.
const onPosix = test.skipIf(process.platform === 'win32');

describe("a desk's key", { tags: ['nobody-else'] }, () => {
  onPosix('is made for this account alone', () => {
    newDeskKey(files);
    const modeOf = (path: string): number => statSync(path).mode & 0o777;
    expect([modeOf(files.privatePath), modeOf(join(files.privatePath, '..'))]).toEqual([0o600, 0o700]);
  });

  onPosix('is not used where the group or others may read, change or run it, each bit by itself', () => {
    const { publicKey } = newDeskKey(files);
    for (const bit of [0o001, 0o002, 0o004, 0o010, 0o020, 0o040]) {
      chmodSync(files.privatePath, 0o600 | bit);
      expect(() => readDeskKey(files), bit.toString(8)).toThrow('can be read by other accounts');
    }
    for (const mode of [0o600, 0o400]) {
      chmodSync(files.privatePath, mode);
      expect(readDeskKey(files)?.publicKey).toBe(publicKey);
    }
  });

  test('is never overwritten, and proves what it signed and nothing else', () => {
    const key = newDeskKey(files);
    const before = readFileSync(files.privatePath);
    expect(() => newDeskKey(files)).toThrow('never overwritten');
    expect(readFileSync(files.privatePath)).toEqual(before);
    const signature = key.sign('a manifest');
    expect(isSignedBy(key.publicKey, 'a manifest', signature)).toBe(true);
    expect(isSignedBy(key.publicKey, 'another', signature)).toBe(false);
    const other = newDeskKey({ privatePath: join(scratch.path, 'b.key'), publicPath: join(scratch.path, 'b.pub') });
    expect(isSignedBy(other.publicKey, 'a manifest', signature)).toBe(false);
    expect(readTrustedKey(files.publicPath)).toBe(key.publicKey);
  });

  test('is absent without its file, and is told where the file is no key', () => {
    expect(readDeskKey(files)).toBeUndefined();
    newDeskKey(files);
    const wrong = join(scratch.path, 'wrong.key');
    copyFileSync(files.privatePath, wrong);
    writeFileSync(wrong, 'no key');
    expect(() => readDeskKey({ privatePath: wrong, publicPath: wrong })).toThrow('no Ed25519 key in PEM');
  });
});
