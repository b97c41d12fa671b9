import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { Mode } from '../../src/core/model/mode.ts';
import { keyFiles, newDeskKey } from '../../src/io/files/desk-key.ts';
import type { VerifyRequest } from '../../src/workflows/verify-stick.ts';
import { makeArchive, sha256 } from '../fixtures/desk.ts';
import { copyStick, deviceOf, memoryPorts, newStick, openStick, prepare } from '../fixtures/memory-sticks.ts';
import { codesOf } from '../fixtures/returned.ts';
import { change, flip, look, prepareForModes, put, read } from '../fixtures/verified.ts';

let folder: string;
let sticks: Readonly<Record<Mode, string>>;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright mode-'));
  sticks = await prepareForModes(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const stickFor = (mode: Mode): string => sticks[mode];

/** A copy of the prepared stick, to be changed. */
const copyFor = (mode: Mode = 'recovery'): string => copyStick(stickFor(mode));

/** What is said of CHANGED and not of the stick as it was made. */
async function said(changed: string, mode: Mode = 'recovery', more: Partial<VerifyRequest> = {}) {
  const before = new Set(codesOf((await look(stickFor(mode))).findings));
  return (await look(changed, more)).findings.filter(({ code }) => !before.has(code));
}

/** Where the volume of the sticks here starts. */
const start = 2 ** 20;

describe('of a stick that was changed since', { tags: ['ready-means-read-back'] }, () => {
  test('a file that is gone, longer, other, or new is told as that and nothing else', async () => {
    const gone = await change(copyFor(), (volume) => volume.removeFile('images/touch.img'));
    expect(await said(gone)).toMatchObject([
      { code: 'verify/missing', subject: 'images/touch.img', facts: { bytes: 4096 } },
    ]);
    const replaced = (bytes: Buffer) =>
      change(copyFor(), async (volume) => {
        await volume.removeFile('images/touch.img');
        await put(volume, 'images/touch.img', bytes);
      });
    expect(await said(await replaced(Buffer.alloc(4097)))).toMatchObject([
      { code: 'verify/changed', subject: 'images/touch.img', facts: { what: 'size', expected: '4096', got: '4097' } },
    ]);
    expect(await said(await replaced(Buffer.alloc(4096)))).toMatchObject([
      { code: 'verify/changed', subject: 'images/touch.img', facts: { what: 'content' } },
    ]);
    const more = await change(copyFor(), (volume) => put(volume, 'letter.txt', Buffer.from('mine')));
    expect(await said(more)).toMatchObject([{ code: 'verify/unexpected', facts: { paths: ['letter.txt'] } }]);
  });

  test('what a panel or a system left is told apart from what a person put there', async () => {
    const visited = await change(copyFor(), async (volume) => {
      await volume.makeFolder('LOST.DIR');
      await volume.makeFolder('System Volume Information');
      await put(volume, 'images/.DS_Store', Buffer.from('view'));
    });
    expect(await said(visited)).toMatchObject([
      { code: 'verify/visited-a-panel', facts: { paths: ['LOST.DIR'] } },
      { code: 'verify/system-junk', facts: { paths: ['images/.DS_Store', 'System Volume Information'] } },
    ]);
  });

  test('its files on a volume with another serial, or of another kind, are not where they were written', async () => {
    // BS_VolID at 67 (FAT specification 1.03), and in the copy in sector 6.
    const other = flip(copyFor(), [start + 67, 1], [start + 6 * 512 + 67, 1]);
    expect(codesOf(await said(other))).toEqual(['verify/other-volume']);
    const target = await newStick({ kind: 'fat16', partitioned: true }, 64 * 2 ** 20);
    // FatFs makes the serial of the time: two volumes of one moment have the same (BS_VolID at 39, its highest byte).
    flip(target, [start + 42, 0x80]);
    const from = await openStick(stickFor('in-os'), 'read');
    await change(target, async (volume) => {
      for (const { path, kind } of await from.entries())
        if (kind === 'folder') await volume.makeFolder(path);
        else await put(volume, path, await read(from, path));
    });
    await from.close();
    const moved = await said(target, 'in-os');
    expect(moved).toMatchObject([
      { code: 'verify/file-system-differs', facts: { expected: 'fat32', got: 'fat16' } },
      { code: 'verify/other-volume' },
    ]);
  });

  test('that it was pulled while somebody wrote is told', async () => {
    // FAT[1]'s mark for a volume that was not put away (FAT specification 1.03, "FAT Volume Initialization"), in both
    // tables.
    const boot = Buffer.from(deviceOf(stickFor('recovery')).bytes(start, 512));
    const table = start + boot.readUInt16LE(14) * 512;
    const dirty = flip(copyFor(), [table + 7, 0x08], [table + boot.readUInt32LE(36) * 512 + 7, 0x08]);
    expect(codesOf(await said(dirty))).toEqual(['verify/not-ejected']);
  });
});

describe('the seal of a desk', () => {
  const keyOf = (name: string) =>
    newDeskKey(keyFiles({ STICKWRIGHT_SEAL_KEY: join(mkdtempSync(join(folder, 'key-')), `${name}.key`) }));

  test('is asked for, and is that of the desk that was named, of another one, or missing', async () => {
    const [ours, theirs] = [keyOf('ours'), keyOf('theirs')];
    const archivePath = await makeArchive(folder);
    const target = copyFor();
    // A desk with a key seals what it prepared before; one with another key seals it anew, and then there is nothing to
    // do.
    const seal = async (deskKey: typeof ours) => {
      const claims = [{ algorithm: 'SHA-256', hex: sha256(readFileSync(archivePath)), from: 'a list' }] as const;
      const { report } = await prepare({ archivePath, targets: [target], claims }, { ...memoryPorts, deskKey });
      return report.sticks[0]?.state;
    };
    const codeFor = async (stick: string, sealFrom?: string): Promise<readonly string[]> =>
      codesOf((await look(stick, { sealFrom: sealFrom === undefined ? undefined : [sealFrom] })).findings).filter(
        (code) => /seal/.test(code),
      );
    expect(await codeFor(target, ours.publicKey)).toEqual(['verify/seal-missing']);
    expect([await seal(ours), await seal(ours)]).toEqual(['written', 'unchanged']);
    expect(await codeFor(target, ours.publicKey)).toEqual(['verify/sealed']);
    expect(await codeFor(target, theirs.publicKey)).toEqual(['verify/sealed-by-another']);
    expect(await codeFor(target)).toEqual(['verify/seal-not-asked']);
    expect([await seal(theirs), await seal(theirs)]).toEqual(['written', 'unchanged']);
    expect(await codeFor(target, ours.publicKey)).toEqual(['verify/sealed-by-another']);
    expect(await codeFor(target, theirs.publicKey)).toEqual(['verify/sealed']);
  });
});
