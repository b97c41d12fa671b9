import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { keyName, largestManifestBytes } from '../../src/core/manifest/build-manifest.ts';
import { manifestPath, sealPath } from '../../src/core/manifest/stick-names.ts';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { WorkEvent } from '../../src/core/report/reports.ts';
import { keyFiles, newDeskKey } from '../../src/io/files/desk-key.ts';
import type { Volume } from '../../src/io/volume/volume.ts';
import { type VerifyRequest, verifyStick } from '../../src/workflows/verify-stick.ts';
import { firmwareTree, makePublishedArchive, sha256 } from '../fixtures/desk.ts';
import {
  copyStick,
  deviceOf,
  memoryPorts,
  newStick,
  openingWith,
  openStick,
  prepare,
  putInto,
  readStick,
  spoil,
} from '../fixtures/memory-sticks.ts';
import { codesOf } from '../fixtures/returned.ts';
import { change, look } from '../fixtures/verified.ts';

let folder: string;
let archivePath: string;
let plain: string;
let sealed: string;
const keyOf = (name: string) => newDeskKey(keyFiles({ STICKWRIGHT_SEAL_KEY: join(folder, `${name}.key`) }));
let desk: ReturnType<typeof keyOf>;
let others: ReturnType<typeof keyOf>;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright reading-'));
  archivePath = await makePublishedArchive(folder);
  [desk, others] = [keyOf('desk'), keyOf('others')];
  [plain, sealed] = [await newStick(), await newStick()];
  await prepare({ archivePath, targets: [plain] });
  await prepare({ archivePath, targets: [sealed] }, { ...memoryPorts, deskKey: desk });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const firmwareBytes = Object.values(firmwareTree).reduce((sum, { length }) => sum + length, 0);
const checksums = 'stickwright/checksums.sha256';

const before = ['verify/wipes-the-panel', 'verify/seal-not-asked'];
/** What is said of STICK and its record that is not said of one that is as it was made. */
async function said(stick: string, more: Partial<VerifyRequest> = {}, ports = memoryPorts) {
  const { findings } = await look(stick, more, ports);
  return findings.filter(({ code }) => /^(verify|stick)\//.test(code) && !before.includes(code));
}
/** The same where the volume has other ways of its own. */
const saidWith = (stick: string, ways: (volume: Volume) => Partial<Volume>, more: Partial<VerifyRequest> = {}) =>
  said(stick, more, { ...memoryPorts, openVolume: openingWith(ways) });

/** Opening PATH fails as CODE. */
const failing = (path: string, code: ToolError['code']) => (volume: Volume) => ({
  open: async (at: string, how: 'fresh' | 'cached') => {
    if (at === path) throw new ToolError(code, at, 'so it is', 'Do this.');
    return volume.open(at, how);
  },
});

describe('what verify reads', { tags: ['ready-means-read-back'] }, () => {
  test('is told while it reads, and counted: the firmware, to its end', async () => {
    const events: WorkEvent[] = [];
    const request = { target: plain, label: undefined, replugged: true };
    const running = { tell: (event: WorkEvent) => void events.push(event), signal: new AbortController().signal };
    const whole = await verifyStick({ ...request, quick: false }, memoryPorts, running);
    expect(whole).toMatchObject({ verdict: 'ready', filesRead: 5, bytesRead: firmwareBytes });
    expect(events[0]).toEqual({ kind: 'stage', target: plain, stage: 'reading', totalBytes: firmwareBytes });
    const done = events.slice(1).flatMap((event) => (event.kind === 'progress' ? [event] : []));
    expect(done).toHaveLength(events.length - 1);
    expect(done.map(({ doneBytes }) => doneBytes)).toEqual(done.map(({ doneBytes }) => doneBytes).toSorted(byNumber));
    expect(done.at(-1)).toMatchObject({ target: plain, doneBytes: firmwareBytes, totalBytes: firmwareBytes });
    const quick = await verifyStick({ ...request, quick: true }, memoryPorts, { ...running, tell: () => {} });
    expect(quick).toMatchObject({ verdict: 'unproven', filesRead: 0, bytesRead: 0 });
    const blank = await look(await newStick());
    expect(blank).toMatchObject({ verdict: 'not-ready', filesRead: 0, bytesRead: 0 });
  });

  test('and cannot read is named with what the stick said; the other files are judged all the same', async () => {
    const stick = copyStick(plain);
    await putInto(stick, { 'release-note.txt': Buffer.from('forged!!\n') });
    await spoil(stick, 'images/system.img');
    const found = await said(stick);
    expect(found).toMatchObject([
      { code: 'verify/unreadable', subject: 'images/system.img', facts: { problem: 'reading failed (EIO)' } },
      { code: 'verify/changed', subject: 'release-note.txt', facts: { what: 'content' } },
    ]);
    expect(await saidWith(plain, failing(checksums, 'stick/read-failed'))).toMatchObject([
      { code: 'verify/unreadable', subject: checksums },
    ]);
  });

  test('and finds to be no more what was listed a moment ago is missing, which is no worn stick', async () => {
    // Another program takes it away in between: no medium does that on wish.
    for (const path of ['images/touch.img', checksums])
      expect(await saidWith(plain, failing(path, 'stick/not-as-listed'))).toMatchObject([
        { code: 'verify/missing', subject: path },
      ]);
  });

  test('ends where the stick is pulled, or the tool itself is at fault, and lets go of the stick', async () => {
    for (const path of ['images/touch.img', checksums, manifestPath]) {
      let closed = 0;
      const ways = (volume: Volume) => ({
        ...failing(path, 'stick/gone')(volume),
        close: async () => {
          closed++;
          await volume.close();
        },
      });
      await expect(saidWith(plain, ways)).rejects.toMatchObject({ code: 'stick/gone' });
      expect(closed).toBe(1);
    }
    const fault = new Error('a fault of the tool');
    const digesting = {
      ...memoryPorts.digesting,
      start: () => {
        throw fault;
      },
    };
    await expect(said(plain, {}, { ...memoryPorts, digesting })).rejects.toBe(fault);
  });

  test('out of the computer’s memory is no proof, were it one file of all', async () => {
    for (const path of [...Object.keys(firmwareTree), checksums]) {
      const ways = (volume: Volume) => ({
        open: async (at: string, how: 'fresh' | 'cached') => {
          const reader = await volume.open(at, how);
          return at === path ? { readBack: 'cache' as const, chunks: () => reader.chunks() } : reader;
        },
      });
      expect(codesOf(await saidWith(plain, ways, { replugged: false })), path).toEqual(['verify/read-from-cache']);
    }
  });

  test('was on the medium at the first look and must still be after the last', async () => {
    const settling = (...answers: readonly boolean[]) => {
      let asked = 0;
      return () => ({ settle: async () => answers[asked++] ?? true });
    };
    expect(await saidWith(plain, settling(true, true))).toEqual([]);
    expect(codesOf(await saidWith(plain, settling(true, false)))).toEqual(['stick/eject-due']);
    expect(codesOf(await saidWith(plain, settling(false, false)))).toEqual(['stick/eject-due']);
    expect(codesOf(await saidWith(plain, settling(false, true)))).toEqual(['stick/eject-due']);
  });

  test('is of the size that the record says, or is not read; and a folder of that name is no file', async () => {
    const stick = copyStick(plain);
    await change(stick, async (volume) => {
      await volume.removeFile('images/touch.img');
      await volume.makeFolder('images/touch.img');
      await volume.removeFile('images/empty.img');
      await volume.makeFolder('images/empty.img');
    });
    const { findings, filesRead, bytesRead } = await look(stick);
    const missing = findings.filter(({ code }) => code === 'verify/missing').map(({ subject }) => subject);
    expect(missing.toSorted()).toEqual(['images/empty.img', 'images/touch.img']);
    expect([filesRead, bytesRead]).toEqual([3, firmwareBytes - 4096]);
  });
});

const byNumber = (a: number, b: number): number => a - b;

describe('the seal', { tags: ['any-machine-checks'] }, () => {
  const nameOf = ({ publicKey }: { readonly publicKey: string }): string => keyName(sha256(Buffer.from(publicKey)));

  test('may be that of any desk whose sticks are taken; where it is of none, both are named', async () => {
    for (const sealFrom of [[desk.publicKey], [others.publicKey, desk.publicKey], [desk.publicKey, others.publicKey]])
      expect(await said(sealed, { sealFrom })).toMatchObject([
        { code: 'verify/sealed', facts: { name: nameOf(desk) } },
      ]);
    expect(await said(sealed, { sealFrom: [others.publicKey] })).toMatchObject([
      { code: 'verify/sealed-by-another', facts: { wanted: nameOf(others), got: nameOf(desk) } },
    ]);
    expect(await said(plain, { sealFrom: [others.publicKey, desk.publicKey] })).toMatchObject([
      { code: 'verify/seal-missing', facts: { wanted: nameOf(others) } },
    ]);
    const { findings } = await look(sealed, { sealFrom: [] });
    expect(findings).toContainEqual(
      expect.objectContaining({ code: 'verify/seal-not-asked', facts: { sealedBy: nameOf(desk) } }),
    );
  });

  test('is of this manifest: the same desk’s seal of another stick is none', async () => {
    const other = await newStick();
    await prepare({ archivePath, targets: [other], mode: 'in-os' }, { ...memoryPorts, deskKey: desk });
    const stick = await putInto(copyStick(sealed), { [sealPath]: await readStick(other, sealPath) });
    expect(codesOf(await said(stick, { sealFrom: [desk.publicKey] }))).toEqual(['verify/seal-broken']);
  });

  test('is broken where it is no text, too large for one, or cannot be read; and none where it is a folder', async () => {
    const text = await readStick(sealed, sealPath);
    const withSeal = (bytes: Buffer) => putInto(copyStick(sealed), { [sealPath]: bytes });
    const filled = (bytes: number) => Buffer.concat([text, Buffer.alloc(bytes - text.length, ' ')]);
    const codes = async (stick: string) => codesOf(await said(stick, { sealFrom: [desk.publicKey] }));
    expect(await codes(await withSeal(filled(4096)))).toEqual(['verify/sealed']);
    expect(await codes(await withSeal(filled(4097)))).toEqual(['verify/seal-broken']);
    expect(await codes(await withSeal(Buffer.concat([text, Buffer.from([0xff])])))).toEqual(['verify/seal-broken']);
    expect(await codes(await withSeal(Buffer.concat([text, Buffer.from([0xc3])])))).toEqual(['verify/seal-broken']);
    for (const code of ['stick/read-failed', 'stick/not-as-listed'] as const)
      expect(codesOf(await saidWith(sealed, failing(sealPath, code)))).toEqual(['verify/seal-broken']);
    const asFolder = await change(copyStick(sealed), async (volume) => {
      await volume.removeFile(sealPath);
      await volume.makeFolder(sealPath);
    });
    expect(await codes(asFolder)).toEqual(['verify/unexpected', 'verify/seal-removed']);
    await expect(saidWith(sealed, failing(sealPath, 'stick/gone'))).rejects.toMatchObject({ code: 'stick/gone' });
  });
});

describe('the manifest', { tags: ['any-machine-checks'] }, () => {
  const problemOf = async (stick: string, ports = memoryPorts): Promise<unknown> =>
    (await look(stick, {}, ports)).findings.find(({ code }) => code === 'verify/manifest-broken')?.facts;

  test('that was overwritten, is far too large, or cannot be read is broken, and it is said why', async () => {
    const text = await readStick(plain, manifestPath);
    for (const byte of [0xff, 0xc3]) {
      const stick = await putInto(copyStick(plain), { [manifestPath]: Buffer.concat([text, Buffer.from([byte])]) });
      expect(await problemOf(stick)).toEqual({ problem: 'it is not UTF-8 text; it was overwritten' });
    }
    const large = copyStick(plain);
    await putInto(large, { [manifestPath]: Buffer.alloc(largestManifestBytes + 1, ' ') });
    expect(await problemOf(large)).toEqual({ problem: 'it is far too large for a manifest' });
    await putInto(large, { [manifestPath]: Buffer.alloc(largestManifestBytes, ' ') });
    expect(await problemOf(large)).not.toEqual({ problem: 'it is far too large for a manifest' });
    const worn = openingWith(failing(manifestPath, 'stick/read-failed'));
    expect(await problemOf(plain, { ...memoryPorts, openVolume: worn })).toEqual({
      problem: 'it cannot be read: so it is',
    });
  });

  test('is a file: a folder of its name is none', async () => {
    const stick = await change(copyStick(plain), async (volume) => {
      await volume.removeFile(manifestPath);
      await volume.makeFolder(manifestPath);
    });
    expect(codesOf(await said(stick))).toEqual(['verify/not-prepared']);
  });

  test('says where it comes from, and the stick is not written while it is asked', async () => {
    const stick = copyStick(sealed);
    deviceOf(stick).writes = 0;
    const { manifest, stick: facts } = await look(stick);
    expect(manifest).toMatchObject({ sealedBy: keyName(sha256(Buffer.from(desk.publicKey))) });
    expect([facts.target, deviceOf(stick).writes]).toEqual([stick, 0]);
    await (await openStick(stick, 'read')).close();
  });
});
