import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import type { LeftoverPolicy, Mode } from '../../src/core/model/mode.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import {
  contentAt,
  firmwareTree,
  makePublishedArchive,
  noise,
  packageName,
  prepare,
  sha256,
  testPorts,
} from '../fixtures/desk.ts';
import { codesOf, comeBack } from '../fixtures/returned.ts';
import { makeZip, metadataName, metadataText, usualMetadata } from '../fixtures/update-packages/make-package.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let folder: string;
let archivePath: string;
let own: string;
/** Files that a panel could take for firmware, under names that say nothing. */
const firmware: Record<string, Buffer> = {};
/** Personal files, of which some are zip archives. */
const harmless: Record<string, Buffer> = {};
const signs = [
  'update package',
  'payload',
  'boot image',
  'sparse image',
  'other build',
  'wrapped',
  'wrapped twice',
  'folder zipped',
];
const otherPackage = 'reed.1096_5B_second_K2.zip';

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright inside-'));
  archivePath = await makePublishedArchive(folder);
  const metadata = { name: metadataName, content: metadataText(usualMetadata) };
  const update = await makeZip([metadata, { name: 'system.new.dat', content: noise(3, 5000) }]);
  const tree = Object.entries(firmwareTree).map(([name, content]) => ({ name, content }));
  Object.assign(firmware, {
    'update package': update,
    payload: Buffer.concat([Buffer.from('CrAU'), noise(4, 3000)]),
    'boot image': Buffer.concat([Buffer.from('ANDROID!'), noise(5, 3000)]),
    'sparse image': Buffer.concat([Buffer.from('3aff26ed', 'hex'), noise(6, 3000)]),
    'other build': await makeZip(tree),
    wrapped: await makeZip([{ name: 'a', content: update, compress: true }]),
    'wrapped twice': await makeZip([{ name: 'b', content: await makeZip([{ name: 'a', content: update }]) }]),
    'folder zipped': await makeZip([{ ...metadata, name: `unpacked/${metadataName}` }]),
  });
  const photo = Buffer.concat([Buffer.from('ffd8ffe0', 'hex'), noise(7, 4000)]);
  Object.assign(harmless, {
    'trip.zip': await makeZip([1, 2, 3].map((at) => ({ name: `photo ${at}.jpg`, content: photo }))),
    'letter.docx': await makeZip([
      { name: '[Content_Types].xml', content: '<Types/>', compress: true },
      { name: 'word/document.xml', content: '<w:document/>', compress: true },
      { name: 'word/embeddings/oleObject1.bin', content: noise(8, 500) },
    ]),
    'board.apk': await makeZip([
      { name: 'AndroidManifest.xml', content: noise(9, 300) },
      { name: 'META-INF/MANIFEST.MF', content: 'Manifest-Version: 1.0\n' },
      { name: 'META-INF/com/android/build/gradle/app-metadata.properties', content: 'appMetadataVersion=1.1\n' },
      { name: 'classes.dex', content: 'dex\n035\0' },
    ]),
    'program.jar': await makeZip([{ name: 'META-INF/MANIFEST.MF', content: 'Main-Class: a.B\n' }]),
    'photo.jpg': photo,
    'song.mp3': noise(10, 3000),
  });
});
beforeEach(() => {
  own = mkdtempSync(join(folder, 'case-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

type Tree = Readonly<Record<string, Buffer>>;

async function put(target: string, files: Tree): Promise<void> {
  const volume = await openVolume(target, 'write');
  const there = new Set((await volume.entries()).map(({ path }) => path));
  for (const [path, bytes] of Object.entries(files)) {
    const parts = path.split('/').slice(0, -1);
    for (let end = 1; end <= parts.length; end++) {
      const parent = parts.slice(0, end).join('/');
      if (!there.has(parent)) await volume.makeFolder(parent);
      there.add(parent);
    }
    const writer = await volume.create(path, bytes.length);
    await writer.write(bytes);
    await writer.close();
  }
  await volume.close();
}

async function stickWith(files: Tree): Promise<string> {
  const target = join(own, 'stick.img');
  await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
  await put(target, files);
  return target;
}

async function prepareAt(target: string, mode: Mode, leftovers: LeftoverPolicy = 'stop') {
  const { report } = await prepare({ archivePath, targets: [target], mode, leftovers });
  return {
    state: report.sticks[0]?.state,
    codes: codesOf(report.sticks[0]?.findings ?? []),
    plan: report.sticks[0]?.plan,
  };
}

const verify = (target: string) =>
  verifyStick({ target, label: undefined, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

const places = [
  'System Volume Information/1',
  'LOST.DIR/00000123',
  'Android/data/org.example/files/cache.dat',
  '.Trashes/501/a',
  '$RECYCLE.BIN/S-1-5/$RABCDEF.txt',
  '.Spotlight-V100/store',
  'letters/2025/more/holiday.jpg',
];

describe('firmware in folders of other things, under a name that says nothing', () => {
  for (const [index, sign] of signs.entries()) {
    const place = places[index % places.length] ?? '';
    const mode = index % 2 === 0 ? 'recovery' : 'in-os';
    test(`${sign}, put into ${place} later: not ready`, { tags: ['read-alike-by-all'] }, async () => {
      const target = await stickWith({ 'letters/one.txt': Buffer.from('mine') });
      expect((await prepareAt(target, mode)).state).toBe('written');
      expect((await verify(target)).verdict).toBe('ready');
      await put(target, { [place]: firmware[sign] ?? Buffer.alloc(0) });
      const verified = await verify(target);
      expect(verified.verdict).toBe('not-ready');
      const found = verified.findings.find(({ code }) => code === 'verify/firmware-inside');
      expect(found?.facts).toMatchObject({ found: [{ path: place }] });
      expect((await comeBack({ target })).conclusion).toBe('prepare-anew');
    });

    test(`${sign}, there before in ${place}: in the way, and moved or removed as wished`, {
      tags: ['nobodys-files-vanish', 'read-alike-by-all', 'plan-before-touch'],
    }, async () => {
      const bytes = firmware[sign] ?? Buffer.alloc(0);
      const target = await stickWith({ [place]: bytes, [`${dirname(place)}/beside.txt`]: Buffer.from('mine') });
      const before = await contentAt(target);
      const stopped = await prepareAt(target, mode);
      expect([stopped.state, stopped.codes.includes('stick/firmware-inside')]).toEqual(['refused', true]);
      expect(await contentAt(target)).toEqual(before);
      const { state, plan } = await prepareAt(target, mode, 'set-aside');
      expect(state).toBe('written');
      const [item] = plan?.items.flatMap((one) => (one.action === 'set-aside' ? [one] : [])) ?? [];
      expect(item?.path).toBe(place);
      expect(item?.to).toMatch(/^set-aside-\d{8}T\d{6}Z\/.*\.set-aside$/);
      const after = await contentAt(target);
      expect(after[item?.to ?? '']).toBe(sha256(bytes));
      expect(after[`${dirname(place)}/beside.txt`]).toBe(before[`${dirname(place)}/beside.txt`]);
      const verified = await verify(target);
      expect(codesOf(verified.findings)).toContain('verify/firmware-set-aside');
      expect(verified.verdict).toBe('ready');
    });
  }

  test('removed where that is wished, and listed', { tags: ['nobodys-files-vanish'] }, async () => {
    const place = 'LOST.DIR/00000123';
    const target = await stickWith({ [place]: firmware.wrapped ?? Buffer.alloc(0), 'LOST.DIR/note': Buffer.from('a') });
    const { plan } = await prepareAt(target, 'recovery', 'remove');
    expect(plan?.items.flatMap((one) => (one.action === 'remove' ? [one.path] : []))).toEqual([place]);
    expect(Object.keys(await contentAt(target))).toContain('LOST.DIR/note');
    expect((await verify(target)).verdict).toBe('ready');
  });

  test('a package by its name, and a file that recovery looks for, whatever is in them', {
    tags: ['read-alike-by-all'],
  }, async () => {
    const named = [`.Trashes/501/${otherPackage}`, 'letters/copy/images/touch.img'];
    for (const path of named) {
      const target = await stickWith({ [path]: Buffer.from('short') });
      expect((await prepareAt(target, 'recovery')).codes).toContain('stick/firmware-inside');
    }
  });

  test('on a mounted folder too', { tags: ['read-alike-by-all'] }, async () => {
    const target = join(own, 'stick');
    mkdirSync(join(target, 'letters/old'), { recursive: true });
    writeFileSync(join(target, 'letters/old/x'), firmware['wrapped twice'] ?? '');
    expect((await prepareAt(target, 'recovery')).codes).toContain('stick/firmware-inside');
  });
});

describe('personal files', () => {
  for (const mode of ['recovery', 'in-os'] as const) {
    test(`${mode}: photos in a zip, documents, apps and programs stay, and the stick is ready`, {
      tags: ['nobodys-files-vanish'],
    }, async () => {
      const files = Object.fromEntries(Object.entries(harmless).map(([name, bytes]) => [`letters/${name}`, bytes]));
      const inJunk = Object.fromEntries(
        Object.entries(harmless).map(([name, bytes]) => [`.Trashes/501/${name}`, bytes]),
      );
      const target = await stickWith({
        ...files,
        ...inJunk,
        'letter.docx': harmless['letter.docx'] ?? Buffer.alloc(0),
      });
      const before = await contentAt(target);
      const { state, codes } = await prepareAt(target, mode);
      expect(state).toBe('written');
      expect(codes.filter((code) => /firmware|not-looked/.test(code))).toEqual([]);
      expect(await contentAt(target)).toMatchObject(before);
      expect((await verify(target)).verdict).toBe('ready');
    });
  }
});

describe('what was set aside', () => {
  test('has no name that a panel lists, in folders that moved whole too', {
    tags: ['nobodys-files-vanish', 'read-alike-by-all'],
  }, async () => {
    const bytes = firmware['update package'] ?? Buffer.alloc(0);
    const target = await stickWith({
      [otherPackage]: bytes,
      'old/sedge_boot.pkg': noise(1, 900),
      'old/images/a.img': noise(2, 900),
      'old/note.txt': Buffer.from('mine'),
    });
    const before = await contentAt(target);
    expect((await prepareAt(target, 'in-os', 'set-aside')).codes).toContain('stick/firmware-set-aside');
    const after = await contentAt(target);
    const names = Object.keys(after).filter((path) => path.startsWith('set-aside-'));
    expect(names.filter((path) => /\.(zip|pkg|img)$/.test(path))).toEqual([]);
    for (const hash of Object.values(before)) expect(Object.values(after)).toContain(hash);
    expect((await verify(target)).verdict).toBe('ready');
  });

  test('and got its own name back, or firmware beside it, is not ready', { tags: ['read-alike-by-all'] }, async () => {
    const target = await stickWith({ 'reed.1096_5B_second_K2/sedge_boot.pkg': noise(1, 900) });
    await prepareAt(target, 'in-os', 'set-aside');
    const aside = Object.keys(await contentAt(target)).find((path) => /^set-aside-[^/]*\/$/.test(path)) ?? '';
    await put(target, { [`${aside}reed.1096_5B_second_K2/${packageName}`]: Buffer.from('back') });
    const verified = await verify(target);
    expect(codesOf(verified.findings)).toContain('verify/firmware-aside-by-name');
    expect(verified.verdict).toBe('unproven');
    expect((await prepareAt(target, 'in-os')).state).toBe('refused');
    expect((await prepareAt(target, 'in-os', 'set-aside')).state).toBe('written');
    expect((await verify(target)).verdict).toBe('ready');
  });
});

describe('what cannot be looked into', () => {
  test('is not proven, before and after', { tags: ['doubt-stays'] }, async () => {
    let deep = await makeZip([{ name: 'photo.jpg', content: noise(1, 500) }]);
    for (let level = 0; level < 5; level++) deep = await makeZip([{ name: `level ${level}`, content: deep }]);
    const target = await stickWith({ 'letters/deep': deep });
    const { state, codes } = await prepareAt(target, 'recovery');
    expect([state, codes.includes('stick/not-looked-into')]).toEqual(['written', true]);
    const verified = await verify(target);
    expect(verified.verdict).toBe('unproven');
    expect(codesOf(verified.findings)).toContain('verify/not-looked-into');
  });
});
