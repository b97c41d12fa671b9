import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import type { Mode } from '../../src/core/model/mode.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { contentAt, makeArchive, prepare, testPorts } from '../fixtures/desk.ts';
import { codesOf, comeBack } from '../fixtures/returned.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let folder: string;
let archivePath: string;
let own: string;

beforeAll(async () => {
  // A folder of Linux tells case and every letter apart, as a case-sensitive mount does.
  folder = mkdtempSync(join(existsSync('/dev/shm') ? '/dev/shm' : tmpdir(), 'stickwright names-'));
  archivePath = await makeArchive(folder);
});
beforeEach(() => {
  own = mkdtempSync(join(folder, 'case-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const accepted = new Map(
  ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'].map((code) => [
    `stick/${code}`,
    'a folder in a test',
  ]),
);

async function preparedFolder(mode: Mode, files: Readonly<Record<string, string>> = {}): Promise<string> {
  const target = join(own, 'stick');
  mkdirSync(target);
  putInto(target, files);
  await prepareAt(target, mode);
  return target;
}

function putInto(target: string, files: Readonly<Record<string, string>>): void {
  for (const [path, text] of Object.entries(files)) {
    mkdirSync(dirname(join(target, path)), { recursive: true });
    writeFileSync(join(target, path), text);
  }
}

async function prepareAt(target: string, mode: Mode): Promise<void> {
  const { report } = await prepare({ archivePath, targets: [target], mode, accepted });
  expect(report.sticks[0]?.state).toMatch(/^(written|unchanged)$/);
  expect((await verify(target)).verdict).toBe('unproven'); // no published hash
}

const verify = (target: string) =>
  verifyStick({ target, label: undefined, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

const unexpectedAt = async (target: string): Promise<readonly string[]> => {
  const { findings } = await verify(target);
  const paths = findings.find(({ code }) => code === 'verify/unexpected')?.facts as { paths: string[] } | undefined;
  return paths?.paths ?? [];
};

/** Case, long s, dotless i, Kelvin sign, and letters that other systems write in two ways. */
const lookAlikes: Readonly<Record<Mode, readonly string[]>> = {
  'in-os': [
    'reed.1717_5b_second_k2.zip',
    'reed.1717_5B_second_K2.ZIP',
    'reed.1717_5B_second_\u212a2.zip',
    'reed.1717_5B_\u017fecond_K2.zip',
  ],
  recovery: [
    'SEDGE_BOOT.PKG',
    '\u017fedge_boot.pkg',
    'Images/system.img',
    'images/SYSTEM.IMG',
    'images/\u017fystem.img',
    'images/system.\u0131mg',
    'STICKWRIGHT/manifest.json',
    'Stickwright/checksums.sha256',
    'stickwright/Manifest.json',
    'stickwright/check\u017fums.sha256',
  ],
};

describe('a case-sensitive volume: known is what has exactly the recorded spelling', () => {
  for (const mode of ['in-os', 'recovery'] as const) {
    for (const name of lookAlikes[mode]) {
      test(`${mode}: ${name} beside the firmware is not known`, { tags: ['read-alike-by-all'] }, async () => {
        const target = await preparedFolder(mode);
        putInto(target, { [name]: 'other firmware' });
        const root = name.split('/')[0] ?? '';
        const isOwnRoot = ['images', 'stickwright'].includes(root);
        expect(await unexpectedAt(target)).toEqual([isOwnRoot ? name : root]);
        expect((await verify(target)).verdict).toBe('not-ready');
        const back = await comeBack({ target });
        expect(back.conclusion).toBe('prepare-anew');
      });
    }
  }

  test('somebody’s file is known while it is spelled and as large as recorded', {
    tags: ['read-alike-by-all'],
  }, async () => {
    const target = await preparedFolder('recovery', { 'letters/one.txt': 'mine', 'holiday.jpg': 'mine' });
    putInto(target, { 'Letters/fw.dat': 'new' });
    expect(await unexpectedAt(target)).toEqual(['Letters']);
    rmSync(join(target, 'Letters'), { recursive: true });
    putInto(target, { 'letters/two.txt': 'new' });
    expect(await unexpectedAt(target)).toEqual(['letters']);
    expect(codesOf((await comeBack({ target })).findings)).toContain('returned/others-changed');
    // The same command looks at it again, and records it.
    await prepareAt(target, 'recovery');
    renameSync(join(target, 'holiday.jpg'), join(target, 'Holiday.jpg'));
    expect(await unexpectedAt(target)).toEqual(['Holiday.jpg']);
  });

  test('what somebody adds to our set-aside folder is not known', { tags: ['read-alike-by-all'] }, async () => {
    const target = join(own, 'stick');
    mkdirSync(target);
    putInto(target, { 'sedge_boot.pkg': 'old' });
    await prepare({ archivePath, targets: [target], mode: 'recovery', accepted, leftovers: 'set-aside' });
    expect(await unexpectedAt(target)).toEqual([]);
    const aside = readdirSync(target).find((name) => name.startsWith('set-aside-')) ?? '';
    putInto(target, { [`${aside}/new.dat`]: 'new' });
    expect(await unexpectedAt(target)).toEqual([`${aside}/new.dat`]);
    expect(codesOf((await comeBack({ target })).findings)).toContain('returned/unexplained');
  });
});

describe('names that are the tool’s in another spelling are somebody’s', () => {
  const theirs = { 'STICKWRIGHT/manifest.json': 'theirs', 'Stickwright/checksums.sha256': 'theirs too' };

  test('they stop a preparation, and are set aside whole where that is wished', {
    tags: ['nobodys-files-vanish'],
  }, async () => {
    const target = await preparedFolder('recovery');
    putInto(target, theirs);
    const before = await contentAt(target);
    const stopped = await prepare({ archivePath, targets: [target], mode: 'recovery', accepted });
    expect(codesOf(stopped.report.sticks[0]?.findings ?? [])).toContain('stick/name-taken');
    expect(await contentAt(target)).toEqual(before);
    await prepare({ archivePath, targets: [target], mode: 'recovery', accepted, leftovers: 'set-aside' });
    const aside = readdirSync(target).find((name) => name.startsWith('set-aside-')) ?? '';
    for (const [path, text] of Object.entries(theirs))
      expect(readFileSync(join(target, aside, path), 'utf8')).toBe(text);
    expect((await verify(target)).verdict).toBe('unproven');
  });

  test('clearing a returned stick leaves them where they are', { tags: ['nobodys-files-vanish'] }, async () => {
    const target = await preparedFolder('recovery');
    putInto(target, theirs);
    const report = await comeBack({ target, clear: true });
    expect(report.clearing.state).toBe('cleared');
    expect(Object.keys(await contentAt(target)).sort()).toEqual([
      'STICKWRIGHT/',
      'STICKWRIGHT/manifest.json',
      'Stickwright/',
      'Stickwright/checksums.sha256',
    ]);
  });
});

describe('a FAT volume', () => {
  for (const mode of ['in-os', 'recovery'] as const) {
    test(`${mode}: letters that only Unicode folds to the recorded name are another file`, {
      tags: ['read-alike-by-all'],
    }, async () => {
      const target = join(own, 'stick.img');
      await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
      await prepareAt(target, mode);
      const name = mode === 'in-os' ? 'reed.1717_5B_second_\u212a2.zip' : '\u017fedge_boot.pkg';
      const volume = await openVolume(target, 'write');
      const writer = await volume.create(name, 4);
      await writer.write(Buffer.from('evil'));
      await writer.close();
      await volume.close();
      expect(await unexpectedAt(target)).toEqual([name]);
    });
  }
});
