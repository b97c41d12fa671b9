import { chmodSync, copyFileSync, mkdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { isSignedBy, keyFiles, newDeskKey, readDeskKey, readTrustedKey } from '../../../src/io/files/desk-key.ts';
import { othersIn, whoElseMayRead } from '../../../src/io/files/windows-rights.ts';
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

// Recorded forms of Windows' own notation ([MS-DTYP] 2.5.1); under Wine a stand-in gives them to the whole command.
describe('on Windows', { tags: ['nobody-else'] }, () => {
  const me = 'S-1-5-21-1-2-3-1001';
  const profile = `O:${me}G:S-1-5-21-1-2-3-513D:(A;ID;FA;;;SY)(A;ID;FA;;;BA)(A;ID;FA;;;${me})`;
  test.each([
    ['in the own folder', profile, []],
    ['made as administrator', `O:BAG:DUD:PAI(A;;FA;;;${me})(A;;FA;;;SY)`, []],
    ['for all users', `O:${me}G:DUD:AI(A;ID;FA;;;SY)(A;ID;0x1200a9;;;BU)(A;ID;FA;;;WD)`, ['BU', 'WD']],
    ['for one colleague', `O:${me}D:P(A;;FA;;;${me})(A;;FR;;;S-1-5-21-1-2-3-1002)S:AI`, ['S-1-5-21-1-2-3-1002']],
    ['refused to others', `O:${me}D:(D;;FA;;;WD)(A;;FA;;;${me})`, []],
    ['without a list, as on FAT', `O:${me}G:DU`, undefined],
    ['with a list that keeps nobody out', `O:${me}D:NO_ACCESS_CONTROL`, undefined],
  ])('a key %s', (_, sddl, others) => {
    expect(othersIn({ sddl, me })).toEqual(others);
    const told = whoElseMayRead('D:\\keys\\desk.key', {}, () => ({ sddl, me }));
    expect(told === undefined).toBe(others?.length === 0);
  });

  test('of which nobody tells is used in the own folder only', () => {
    const silent = (): never => {
      throw new Error('no PowerShell');
    };
    const environment = { UserProfile: 'C:\\Users\\mk' };
    expect(whoElseMayRead('c:\\users\\MK\\AppData\\Local\\x.key', environment, silent)).toBeUndefined();
    for (const path of ['D:\\x.key', 'C:\\Users\\mk2\\x.key', '\\\\server\\x.key'])
      expect(whoElseMayRead(path, environment, silent)).toContain('nobody tells');
    expect(whoElseMayRead('C:\\Users\\mk\\x.key', {}, silent)).toContain('nobody tells');
  });

  test('lies where it does not roam, but for one that is there already', () => {
    const own = { config: join(scratch.path, 'roaming'), data: join(scratch.path, 'local') };
    const [roaming, local] = [join(own.config, 'seal', 'desk.key'), join(own.data, 'seal', 'desk.key')];
    expect(keyFiles({}, 'win32', own).privatePath).toBe(local);
    expect(keyFiles({}, 'linux', own).privatePath).toBe(roaming);
    mkdirSync(join(own.config, 'seal'), { recursive: true });
    writeFileSync(roaming, 'a key');
    expect(keyFiles({}, 'win32', own).privatePath).toBe(roaming);
    mkdirSync(join(own.data, 'seal'), { recursive: true });
    writeFileSync(local, 'a key');
    expect(keyFiles({}, 'win32', own).privatePath).toBe(local);
    expect(keyFiles({ STICKWRIGHT_SEAL_KEY: 'x.key' }, 'win32', own).privatePath).toBe('x.key');
  });
});
