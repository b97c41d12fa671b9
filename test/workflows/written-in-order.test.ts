import { createWriteStream, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ZipFile } from 'yazl';
import { ToolError } from '../../src/core/model/tool-error.ts';
import { keyFiles, newDeskKey } from '../../src/io/files/desk-key.ts';
import type { Volume } from '../../src/io/volume/volume.ts';
import { firmwareTree, makePublishedArchive, packageName } from '../fixtures/desk.ts';
import { contentAt, copyStick, memoryPorts, newStick, prepare, putInto } from '../fixtures/memory-sticks.ts';
import { codesOf } from '../fixtures/returned.ts';
import { failing, isStage, linesOf, portsWith, stoppedAt, traced } from '../fixtures/told.ts';
import { change, look } from '../fixtures/verified.ts';

let folder: string;
let archivePath: string;
let whole: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright writing-'));
  archivePath = await makePublishedArchive(folder);
  whole = await newStick();
  await prepare({ archivePath, targets: [whole], mode: 'in-os' });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const staging = linesOf(`
  makeFolder SW-PART.TMP
  makeFolder SW-PART.TMP/images
  create SW-PART.TMP/sedge_boot.pkg
  close SW-PART.TMP/sedge_boot.pkg
  create SW-PART.TMP/images/system.img
  close SW-PART.TMP/images/system.img
  create SW-PART.TMP/images/touch.img
  close SW-PART.TMP/images/touch.img
  create SW-PART.TMP/images/empty.img
  close SW-PART.TMP/images/empty.img
  create SW-PART.TMP/release-note.txt
  close SW-PART.TMP/release-note.txt
  flush`);

const record = (...names: readonly string[]): readonly string[] => [
  'makeFolder SW-DONE.TMP',
  ...names.flatMap((name) => [`create SW-DONE.TMP/${name}`, `close SW-DONE.TMP/${name}`]),
  'flush',
];
const plainRecord = record('checksums.sha256', 'what-is-this-stick.txt', 'MANIFEST.NEW');

const naming = linesOf(`
  rename SW-PART.TMP/images images
  rename SW-PART.TMP/sedge_boot.pkg sedge_boot.pkg
  rename SW-PART.TMP/release-note.txt release-note.txt
  flush
  removeFolder SW-PART.TMP
  flush`);

const publishing = linesOf(`
  rename SW-DONE.TMP stickwright
  flush
  rename stickwright/MANIFEST.NEW stickwright/manifest.json
  flush
  settle`);

const withdrawing = linesOf(`
  removeFile stickwright/MANIFEST.OLD
  removeFile stickwright/checksums.sha256
  removeFile stickwright/what-is-this-stick.txt
  removeFolder stickwright
  flush`);

const asFolder = (volume: Volume) => ({ facts: { ...volume.facts, kind: 'folder' as const } });
const key = () => newDeskKey(keyFiles({ STICKWRIGHT_SEAL_KEY: join(mkdtempSync(join(folder, 'key-')), 'desk.key') }));

describe('what a stick is told, and what is on the medium before it is told more', {
  tags: ['never-half-a-file', 'ready-is-on-the-medium'],
}, () => {
  test('staged, recorded, named, and the manifest last', async () => {
    const { told, ports } = traced();
    const { report } = await prepare({ archivePath, targets: [await newStick()] }, ports);
    expect(report).toMatchObject({ verdict: 'ready', sticks: [{ state: 'written', error: undefined }] });
    expect(told).toEqual([...staging, ...plainRecord, ...naming, ...publishing]);
    const [stick] = report.sticks;
    const named = stick?.manifest?.schema === 'stickwright/manifest/2' ? stick.manifest.record : [];
    expect(named.map(({ path }) => path)).toEqual([
      'stickwright/checksums.sha256',
      'stickwright/what-is-this-stick.txt',
    ]);
    const sealed = traced();
    await prepare({ archivePath, targets: [await newStick()] }, { ...sealed.ports, deskKey: key() });
    const withSeal = record('checksums.sha256', 'what-is-this-stick.txt', 'seal.json', 'MANIFEST.NEW');
    expect(sealed.told).toEqual([...staging, ...withSeal, ...naming, ...publishing]);
  });

  test('an earlier manifest is withdrawn first, what is somebody’s goes one by one, the rest of the record last', async () => {
    const { told, ports } = traced();
    const files = { 'old_firmware.bin': Buffer.from('old'), 'a letter.txt': Buffer.from('mine') };
    const stick = await putInto(copyStick(whole), files);
    const { report, events } = await prepare({ archivePath, targets: [stick], leftovers: 'set-aside' }, ports);
    expect(report.sticks).toMatchObject([{ state: 'written', error: undefined }]);
    const { items = [], writeBytes } = report.sticks[0]?.plan ?? {};
    const done = events.flatMap((event) => (event.kind === 'item' && event.target === stick ? [event.item] : []));
    const inWords = (all: readonly object[]) => all.map((item) => JSON.stringify(item)).toSorted();
    expect(inWords(done)).toEqual(inWords(items));
    const written = events.flatMap((event) =>
      event.kind === 'progress' && event.stage === 'writing' ? [[event.target, event.doneBytes, event.totalBytes]] : [],
    );
    expect(written[0]).toEqual([stick, expect.any(Number), writeBytes]);
    expect(written.at(-1)).toEqual([stick, writeBytes, writeBytes]);
    expect(written.every(([, bytes], at) => Number(bytes) > Number(written[at - 1]?.[1] ?? 0))).toBe(true);
    const aside = linesOf(`
      rename stickwright/manifest.json stickwright/MANIFEST.OLD
      flush
      makeFolder set-aside-20261102T073000Z
      flush
      rename ${packageName} set-aside-20261102T073000Z/${packageName}.set-aside
      flush
      rename old_firmware.bin set-aside-20261102T073000Z/old_firmware.bin.set-aside
      flush`);
    expect(told).toEqual([...aside, ...staging, ...plainRecord, ...naming, ...withdrawing, ...publishing]);
  });

  test('what is removed is gone before the first file is made', async () => {
    const { told, ports } = traced();
    const stick = await putInto(copyStick(whole), { 'images/old/a.img': Buffer.from('old') });
    const { report } = await prepare({ archivePath, targets: [stick], leftovers: 'remove' }, ports);
    expect(report.sticks).toMatchObject([{ state: 'written', error: undefined }]);
    const removed = linesOf(`
      rename stickwright/manifest.json stickwright/MANIFEST.OLD
      flush
      removeFile ${packageName}
      removeFile images/old/a.img
      removeFolder images/old
      flush`);
    const [begun, ended] = [told.slice(0, removed.length), told.slice(removed.length)];
    expect([begun.toSorted(), begun.at(-1)]).toEqual([removed.toSorted(), 'flush']);
    // The folder is there already: what belongs into it is moved, file by file.
    const made = 'makeFolder SW-PART.TMP/images';
    const staged = [...staging.slice(0, 1), ...staging.slice(2, 4), made, ...staging.slice(4)];
    const named = linesOf(`
      rename SW-PART.TMP/sedge_boot.pkg sedge_boot.pkg
      rename SW-PART.TMP/images/system.img images/system.img
      rename SW-PART.TMP/images/touch.img images/touch.img
      rename SW-PART.TMP/images/empty.img images/empty.img
      removeFolder SW-PART.TMP/images`);
    const after = [...plainRecord, ...named, ...naming.slice(2), ...withdrawing, ...publishing];
    expect(ended).toEqual([...staged, ...after]);
  });

  test('what is there already keeps its place, and its earlier manifest is withdrawn first all the same', async () => {
    const { told, ports } = traced();
    const note = 'stickwright/what-is-this-stick.txt';
    const stick = await change(copyStick(whole), (volume) => volume.removeFile(note));
    const { report } = await prepare({ archivePath, mode: 'in-os', targets: [stick] }, ports);
    expect(report.sticks).toMatchObject([{ state: 'written', error: undefined }]);
    const [first, second] = ['rename stickwright/manifest.json stickwright/MANIFEST.OLD', 'flush'];
    const folders = ['makeFolder SW-PART.TMP', 'flush'];
    const emptied = ['removeFolder SW-PART.TMP', 'flush'];
    const withdrawn = withdrawing.filter((line) => !line.endsWith(note));
    expect(told).toEqual([first, second, ...folders, ...plainRecord, ...emptied, ...withdrawn, ...publishing]);
  });

  test('on a mounted volume no folder is renamed: its driver may lose what is in it', async () => {
    const { told, ports } = traced(asFolder);
    const { report } = await prepare({ archivePath, targets: [await newStick()] }, ports);
    expect(report.sticks).toMatchObject([{ state: 'written', error: undefined }]);
    const filled = linesOf(`
      makeFolder images
      rename SW-PART.TMP/images/system.img images/system.img
      rename SW-PART.TMP/images/touch.img images/touch.img
      rename SW-PART.TMP/images/empty.img images/empty.img
      removeFolder SW-PART.TMP/images`);
    const moved = linesOf(`
      makeFolder stickwright
      rename SW-DONE.TMP/checksums.sha256 stickwright/checksums.sha256
      rename SW-DONE.TMP/what-is-this-stick.txt stickwright/what-is-this-stick.txt
      rename SW-DONE.TMP/MANIFEST.NEW stickwright/MANIFEST.NEW
      removeFolder SW-DONE.TMP`);
    expect(told).toEqual([...staging, ...plainRecord, ...filled, ...naming.slice(1), ...moved, ...publishing.slice(1)]);
  });

  test('a folder of the archive with nothing in it is made, and named, too', async () => {
    const zip = new ZipFile();
    for (const [path, bytes] of Object.entries(firmwareTree)) zip.addBuffer(bytes, path);
    zip.addEmptyDirectory('images/none');
    zip.end();
    const path = join(mkdtempSync(join(folder, 'empty-')), packageName);
    await pipeline(zip.outputStream, createWriteStream(path));
    for (const others of [() => ({}), asFolder]) {
      const stick = await newStick();
      const { report } = await prepare({ archivePath: path, targets: [stick] }, traced(others).ports);
      expect(report.sticks).toMatchObject([{ state: 'written', error: undefined }]);
      expect(Object.keys(await contentAt(stick))).toContain('images/none/');
    }
  });

  test('an archive that stays whole is one file, whatever lies in it', async () => {
    const { told, ports } = traced();
    const { report } = await prepare({ archivePath, targets: [await newStick()], mode: 'in-os' }, ports);
    expect(report.sticks).toMatchObject([{ state: 'written', error: undefined }]);
    const one = linesOf(`
      makeFolder SW-PART.TMP
      create SW-PART.TMP/${packageName}
      close SW-PART.TMP/${packageName}
      flush`);
    const named = [`rename SW-PART.TMP/${packageName} ${packageName}`, ...naming.slice(3)];
    expect(told).toEqual([...one, ...plainRecord, ...named, ...publishing]);
  });
});

describe('what is left on a stick to say what it is', () => {
  test('keeps its code when it is prepared again, and names the desk that sealed it', async () => {
    const stick = await newStick();
    let codes = 0;
    const ports = { ...memoryPorts, newStickCode: () => `ACD-47${++codes}`, deskKey: key() };
    await prepare({ archivePath, targets: [stick], mode: 'in-os' }, ports);
    const { report } = await prepare({ archivePath, targets: [stick], leftovers: 'remove' }, ports);
    expect(report.sticks[0]?.manifest).toMatchObject({ stick: 'ACD-471', mode: 'recovery' });
    const { manifest, findings } = await look(stick, { sealFrom: [ports.deskKey.publicKey] });
    expect([manifest?.stick, codesOf(findings).includes('verify/sealed')]).toEqual(['ACD-471', true]);
    expect((await prepare({ archivePath, targets: [stick] }, ports)).report.sticks[0]).toMatchObject({
      state: 'unchanged',
      manifest: { stick: 'ACD-471' },
    });
  });

  test('goes on where a cut left it half made, and ends where something else is in its place', async () => {
    const stick = await newStick();
    await stoppedAt({ archivePath, stick }, isStage('finishing'));
    const { report } = await prepare({ archivePath, targets: [stick] });
    expect(report).toMatchObject({ verdict: 'ready', sticks: [{ state: 'written' }] });
    const full = portsWith(failing('makeFolder', 'stick/full', /^SW-DONE/));
    expect((await prepare({ archivePath, targets: [await newStick()] }, full)).report.sticks).toMatchObject([
      { state: 'unfinished', error: { code: 'stick/full' } },
    ]);
    // A run that was cut off between two looks may have made it by now.
    const taken = portsWith((volume) => ({
      makeFolder: async (path: string) => {
        await volume.makeFolder(path);
        if (path === 'SW-DONE.TMP') throw new ToolError('stick/name-taken', path, 'so it is', 'Do this.');
      },
    }));
    expect((await prepare({ archivePath, targets: [await newStick()] }, taken)).report.verdict).toBe('ready');
  });
});
