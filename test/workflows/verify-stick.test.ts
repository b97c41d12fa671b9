import {
  closeSync,
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  readSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { manifestPath } from '../../src/core/manifest/stick-names.ts';
import { type Mode, modes } from '../../src/core/model/mode.ts';
import { loadFamilies } from '../../src/io/families/load-families.ts';
import { keyFiles, newDeskKey } from '../../src/io/files/desk-key.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { Volume } from '../../src/io/volume/volume.ts';
import { type VerifyRequest, verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, panelLabel, prepare, sha256, testPorts } from '../fixtures/desk.ts';
import { codesOf, comeBack } from '../fixtures/returned.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';
import { itWithout } from '../outside/needs.ts';

let folder: string;
const sticks = new Map<Mode, string>();

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright mode-'));
  const archivePath = await makeArchive(folder);
  for (const mode of modes) {
    const target = join(folder, `${mode}.img`);
    await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
    const { report } = await prepare({ archivePath, targets: [target], mode });
    expect(report.sticks[0]?.state).toBe('written');
    sticks.set(mode, target);
  }
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const stickFor = (mode: Mode): string => sticks.get(mode) ?? '';
const look = (target: string, more: Partial<VerifyRequest> = {}) =>
  verifyStick({ target, label: undefined, quick: false, replugged: true, ...more }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

describe('a stick and what somebody is about to do with it', () => {
  for (const prepared of modes) {
    for (const asked of modes) {
      const fits = prepared === asked;
      test(`prepared for ${prepared}, asked for ${asked}: ${fits ? 'said to agree' : 'stopped'}`, async () => {
        const answer = await look(stickFor(prepared), { mode: asked });
        const silent = await look(stickFor(prepared));
        expect(silent.verdict).toBe('unproven'); // no published hash
        expect(answer.verdict).toBe(fits ? 'unproven' : 'not-ready');
        expect(codesOf(answer.findings)).toContain(fits ? 'verify/same-mode' : 'verify/other-mode');
        const back = await comeBack({ target: stickFor(prepared), mode: asked });
        expect(codesOf(back.findings)).toContain(fits ? 'verify/same-mode' : 'verify/other-mode');
        expect(back.conclusion).toBe(fits ? 'not-proven' : 'prepare-anew');
      });
    }
  }
});

let copies = 0;
/** A copy of the prepared stick, to be changed. */
function copyFor(mode: Mode = 'recovery'): string {
  const path = join(folder, `copy ${++copies}.img`);
  copyFileSync(stickFor(mode), path);
  return path;
}

/** What is said of CHANGED and not of the stick as it was made. */
async function said(changed: string, mode: Mode = 'recovery', more: Partial<VerifyRequest> = {}) {
  const before = new Set(codesOf((await look(stickFor(mode))).findings));
  return (await look(changed, more)).findings.filter(({ code }) => !before.has(code));
}

async function change(target: string, work: (volume: Volume) => Promise<void>): Promise<string> {
  const volume = await openVolume(target, 'write');
  await work(volume);
  await volume.flush();
  await volume.close();
  return target;
}

async function put(volume: Volume, path: string, bytes: Uint8Array): Promise<void> {
  const writer = await volume.create(path, bytes.length);
  await writer.write(bytes);
  await writer.close();
}

async function read(volume: Volume, path: string): Promise<Buffer> {
  const chunks: Uint8Array[] = [];
  for await (const chunk of (await volume.open(path, 'cached')).chunks()) chunks.push(chunk.slice());
  return Buffer.concat(chunks);
}

/** XORs single bytes of an image. */
function flip(path: string, ...changes: readonly (readonly [at: number, bits: number])[]): string {
  const file = openSync(path, 'r+');
  const byte = Buffer.alloc(1);
  for (const [at, bits] of changes) {
    readSync(file, byte, 0, 1, at);
    byte[0] = (byte[0] ?? 0) ^ bits;
    writeSync(file, byte, 0, 1, at);
  }
  closeSync(file);
  return path;
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
    const target = join(folder, 'fat16.img');
    await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat16', partitioned: true });
    // FatFs makes the serial of the time: two volumes of one moment have the same (BS_VolID at 39, its highest byte).
    flip(target, [start + 42, 0x80]);
    const from = await openVolume(stickFor('in-os'), 'read');
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
    const image = openSync(stickFor('recovery'), 'r');
    const boot = Buffer.alloc(512);
    readSync(image, boot, 0, 512, start);
    closeSync(image);
    const table = start + boot.readUInt16LE(14) * 512;
    const dirty = flip(copyFor(), [table + 7, 0x08], [table + boot.readUInt32LE(36) * 512 + 7, 0x08]);
    expect(codesOf(await said(dirty))).toEqual(['verify/not-ejected']);
  });
});

describe('the seal of a desk', () => {
  const keyOf = (name: string) => newDeskKey(keyFiles({ STICKWRIGHT_SEAL_KEY: join(folder, `${name}.key`) }));

  test('is asked for, and is that of the desk that was named, of another one, or missing', async () => {
    const [ours, theirs] = [keyOf('ours'), keyOf('theirs')];
    const archivePath = await makeArchive(folder);
    const target = copyFor();
    // A desk with a key seals what it prepared before; one with another key seals it anew, and then there is nothing to
    // do.
    const seal = async (deskKey: typeof ours) => {
      const claims = [{ algorithm: 'SHA-256', hex: sha256(readFileSync(archivePath)), from: 'a list' }] as const;
      const { report } = await prepare({ archivePath, targets: [target], claims }, { ...testPorts, deskKey });
      return report.sticks[0]?.state;
    };
    const codeFor = async (stick: string, sealFrom?: string): Promise<readonly string[]> =>
      codesOf((await look(stick, { sealFrom })).findings).filter((code) => /seal/.test(code));
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

describe('what is said of how a stick was made and read', () => {
  test('that it wipes the panel is said in recovery, and in no other mode', async () => {
    for (const mode of modes) {
      const { findings } = await look(stickFor(mode));
      expect(codesOf(findings).includes('verify/wipes-the-panel')).toBe(mode === 'recovery');
    }
  });

  test('a record of a later version is no reason to say that it is broken, and none to say that it is whole', async () => {
    const manifestOf = (edit: (text: string) => string) =>
      change(copyFor(), async (volume) => {
        const text = (await read(volume, manifestPath)).toString();
        await volume.removeFile(manifestPath);
        await put(volume, manifestPath, Buffer.from(edit(text)));
      });
    const later = await manifestOf((text) => text.replace('stickwright/manifest/2', 'stickwright/manifest/9'));
    expect((await look(later)).findings).toMatchObject([
      { code: 'verify/manifest-newer', facts: { schema: 'stickwright/manifest/9' } },
    ]);
    const edited = await manifestOf((text) => text.replace(panelLabel, 'K3-second 75/5B'));
    expect(codesOf((await look(edited)).findings)).toEqual(['verify/manifest-broken']);
  });

  test('names and sizes alone are no proof', async () => {
    const quick = await look(stickFor('in-os'), { quick: true });
    expect(codesOf(quick.findings)).toContain('verify/content-not-read');
    expect(quick).toMatchObject({ verdict: 'unproven', filesRead: 0 });
  });

  // A folder in memory has no medium to read past the system's own copy.
  const inMemory = existsSync('/dev/shm') ? test : itWithout('a folder in memory (Linux: /dev/shm)');
  inMemory(
    'what the system may have had in memory is no proof, but that a person pulled it in between is said',
    async () => {
      const target = mkdtempSync('/dev/shm/stickwright verify-');
      try {
        const from = await openVolume(stickFor('in-os'), 'read');
        for (const { path, kind } of await from.entries())
          if (kind === 'folder') mkdirSync(join(target, path));
          else writeFileSync(join(target, path), await read(from, path));
        await from.close();
        const here = codesOf((await look(target, { replugged: false })).findings);
        expect(here.filter((code) => /read-from-cache|replugged/.test(code))).toEqual(['verify/read-from-cache']);
        const back = codesOf((await look(target)).findings);
        expect(back.filter((code) => /read-from-cache|replugged/.test(code))).toEqual(['verify/replugged']);
      } finally {
        rmSync(target, { recursive: true, force: true });
      }
    },
  );

  test('what the system still has in memory is due to be ejected, and is no proof', async () => {
    // A kernel that says so, and means it, is in test/outside/writes-that-fail.test.ts.
    const openVolume: typeof testPorts.openVolume = async (...wish) => {
      const volume = await testPorts.openVolume(...wish);
      return Object.assign(Object.create(volume), { settle: async () => false });
    };
    const { verdict, findings } = await verifyStick(
      { target: stickFor('in-os'), label: undefined, quick: true, replugged: true },
      { ...testPorts, openVolume },
      { tell: () => {}, signal: new AbortController().signal },
    );
    expect(codesOf(findings).filter((code) => code === 'stick/eject-due')).toHaveLength(1);
    expect(verdict).toBe('unproven');
  });

  test('a panel that wants its root to itself is told of what systems left there', async () => {
    const archivePath = await makeArchive(folder, { 'BASALT.IMG': Buffer.from('firmware') }, basaltPackage);
    const target = join(folder, 'basalt.img');
    await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
    const families = await loadFamilies(['samples/families/basalt.yaml']);
    const { report } = await prepare({ archivePath, targets: [target], families, label: '86 in 24P.M3' });
    expect(report.sticks[0]?.state).toBe('written');
    expect(codesOf((await look(target)).findings)).not.toContain('verify/root-not-empty');
    await change(target, (volume) => volume.makeFolder('LOST.DIR'));
    const { verdict, findings } = await look(target);
    expect(verdict).toBe('not-ready');
    expect(findings.filter(({ code }) => code === 'verify/root-not-empty')).toMatchObject([
      { facts: { paths: ['LOST.DIR'] } },
    ]);
  });
});

const basaltPackage = 'basalt_86_24p_m3_r1047.zip';
