import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { ToolError } from '../../src/core/model/tool-error.ts';
import type { FatKind } from '../../src/core/volume-format/fat-geometry.ts';
import { createStickImage } from '../../src/io/format/image-files.ts';
import { layOutStick } from '../../src/io/format/lay-out-stick.ts';
import { prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { makeArchive, noise, packageName, prepare, requestFor, sha256, testPorts } from '../fixtures/desk.ts';
import { seeStick, stickPrograms } from '../fixtures/kernel/kernel-sticks.ts';
import { type Change, type KernelFile, type KernelReading, readInKernel } from '../fixtures/kernel/read-in-kernel.ts';
import { kernelPrograms, startsInGate } from '../fixtures/kernel/start-kernel.ts';
import { comeBack, leftBehind } from '../fixtures/returned.ts';
import { MemoryDevice } from '../fixtures/volumes/memory-device.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { openMemory } from '../fixtures/volumes/open-memory.ts';
import { makeFatImage, makeScratch } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

const scratch = makeScratch();
afterAll(() => scratch.undo());

const mebibyte = 2 ** 20;
const at = new Date('2026-09-14T08:00:00Z');
const stated = (bytes: Buffer): KernelFile => ({ bytes: bytes.length, stated: bytes.length, sha256: sha256(bytes) });

test('the gate starts a kernel ten times at most', () => {
  const all = Object.values(startsInGate).reduce((sum, starts) => sum + starts, 0);
  expect(all).toBeLessThanOrEqual(10);
});

interface Shape {
  readonly bytes: number;
  readonly fileSystem: FatKind;
  readonly clusterBytes: number;
}

/** Every volume that we format, from 64 MiB to 2 TB, with every cluster that this size allows. */
const shapes: readonly Shape[] = [...Array.from({ length: 15 }, (_, power) => 2 ** (26 + power)), 2e12].flatMap(
  (bytes) =>
    (['fat16', 'fat32'] as const).flatMap((fileSystem) =>
      Array.from({ length: 8 }, (_, power) => ({ bytes, fileSystem, clusterBytes: 2 ** (9 + power) })).filter(
        isPossible,
      ),
    ),
);

function isPossible(shape: Shape): boolean {
  try {
    return layOutStick('stick', { ...shape, partitioned: false }).layout.clusters > 0;
  } catch (error) {
    if (error instanceof ToolError && error.code === 'stick/refused') return false;
    throw error;
  }
}

/** Names that take one slot and several, a folder in a folder, an empty file, one of more than a cluster. */
const tree: Readonly<Record<string, Buffer>> = {
  'SYSTEM.BIN': noise(1, 3000),
  'images/a long name, and Größe.img': noise(2, 70_000),
  'images/deeper/empty.img': Buffer.alloc(0),
};

/** The volume of SHAPE with TREE on it, as the changes that make it of a medium that is all zeros. */
async function formatted(shape: Shape): Promise<{ readonly changes: readonly Change[]; readonly clusters: number }> {
  const device = new MemoryDevice(shape.bytes);
  const changes: Change[] = [];
  device.beforeWrite = (first, from) => void changes.push({ offset: first * 512, bytes: from.slice() });
  const { writes, layout } = layOutStick('stick', {
    ...shape,
    partitioned: false,
    volumeLabel: 'PANEL',
    volumeSerial: 7,
    at,
  });
  for (const { sector, bytes } of writes) device.writeSectors(sector, bytes);
  const volume = await openMemory(device);
  for (const folder of ['images', 'images/deeper']) await volume.makeFolder(folder);
  for (const [path, bytes] of Object.entries(tree)) {
    const writer = await volume.create(path, bytes.length);
    await writer.write(bytes);
    await writer.close();
  }
  await volume.flush();
  await volume.close();
  return { changes, clusters: layout.clusters };
}

/** What TREE takes of a volume, and its two folders. */
const clustersOf = ({ clusterBytes, fileSystem }: Shape): number =>
  Object.values(tree).reduce(
    (sum, { length }) => sum + Math.ceil(length / clusterBytes),
    fileSystem === 'fat32' ? 3 : 2,
  );

const foundOfTree = {
  ...Object.fromEntries(Object.entries(tree).map(([path, bytes]) => [path, stated(bytes)])),
  'images/': 'folder',
  'images/deeper/': 'folder',
};

const published = async (name: string, files?: Readonly<Record<string, Buffer>>): Promise<string> => {
  mkdirSync(join(scratch.path, name));
  const path = await makeArchive(join(scratch.path, name), files);
  writeFileSync(`${path}.sha256`, `${sha256(readFileSync(path))}  ${packageName}\n`);
  return path;
};

/** Every way that leaves a stick which says of itself that it is ready, or that was one. */
async function waysOfOurs(): Promise<Readonly<Record<string, string>>> {
  const archivePath = await published('small');
  const many = await published(
    'many',
    Object.fromEntries([
      ['sedge_boot.pkg', noise(3, 2000)],
      ['images/system.img', noise(4, 900_000)],
      ...Array.from({ length: 40 }, (_, part) => [
        `parts of it/group ${part % 4}/part ${part}.bin`,
        noise(part, 700 * part),
      ]),
    ]),
  );
  const images: Record<string, string> = {};
  const make = async (name: string, fileSystem: FatKind = 'fat32', bytes = 48 * mebibyte): Promise<string> => {
    const image = join(scratch.path, `${name}.img`);
    await createStickImage(image, { bytes, fileSystem, partitioned: true, volumeLabel: 'PANEL', at });
    images[name] = image;
    return image;
  };
  const put = (image: string, files: Readonly<Record<string, Buffer>>): void => {
    for (const [path, bytes] of Object.entries(files)) {
      const part = join(scratch.path, 'to copy');
      writeFileSync(part, bytes);
      const folders = path.split('/').slice(0, -1);
      for (const [depth] of folders.entries())
        if (!mtools('mdir', `${image}@@1M`, '-/', '-b', '::/').includes(`/${folders.slice(0, depth + 1).join('/')}/`))
          mtools('mmd', `${image}@@1M`, `::/${folders.slice(0, depth + 1).join('/')}`);
      mtools('mcopy', `${image}@@1M`, '-o', part, `::/${path}`);
    }
  };
  const ready = async (image: string, wish: Partial<Parameters<typeof prepare>[0]> = {}): Promise<void> => {
    const { report } = await prepare({ archivePath, targets: [image], ...wish });
    expect(report.sticks[0]?.state, JSON.stringify(report.sticks[0]?.findings)).toBe('written');
  };
  const accepted = new Map([['stick/file-system-not-taken', 'a test']]);
  const others = { 'reed.1096_5B_first_home.zip': noise(7, 50_000), 'update.zip': noise(8, 3000) };
  const own = { 'holiday.jpg': noise(9, 20_000), 'letters/one.txt': noise(10, 300) };

  await ready(await make('recovery'));
  await ready(await make('in-os'), { mode: 'in-os' });
  await ready(await make('many files'), { archivePath: many });
  await ready(await make('fat16', 'fat16', 24 * mebibyte), { accepted });
  await ready(await make('fat12', 'fat12', 4 * mebibyte), { accepted });
  for (const leftovers of ['set-aside', 'remove'] as const) {
    const image = await make(leftovers);
    put(image, { ...others, ...own });
    await ready(image, { leftovers });
  }
  const anew = await make('another job');
  put(anew, own);
  await ready(anew, { mode: 'in-os' });
  await ready(anew, { archivePath: many, leftovers: 'remove' });
  const cut = await make('cut');
  await cutWhileWriting(cut, many);
  await ready(cut, { archivePath: many });
  const back = await make('back');
  put(back, own);
  await ready(back);
  put(back, leftBehind);
  await comeBack({ target: back, clear: true });
  return images;
}

/** The person stops it when the first file is written. */
async function cutWhileWriting(image: string, archivePath: string): Promise<void> {
  const stopping = new AbortController();
  const report = await prepareSticks(await requestFor({ archivePath, targets: [image] }), testPorts, {
    tell: ({ kind }) => void (kind === 'item' && stopping.abort(new Error('stopped in a test'))),
    signal: stopping.signal,
    propose: async () => {},
    agree: async () => true,
  });
  expect(report.sticks[0]?.state).toBe('unfinished');
}

const volumeOf = (name: string, kind: 'fat16' | 'fat32', mebibytes: number) =>
  makeFatImage(join(scratch.path, name), mebibytes * mebibyte, { kind, clusterBytes: 512 });

/** Bytes of a volume that make a sound one long, short, or none: what readers must not agree on is told as that. */
function damaged(image: string): readonly (readonly Change[])[] {
  const slot = readFileSync(image).indexOf('REED17~1ZIP'); // the package's short name in the root folder
  const noSectors = { offset: 11, bytes: Uint8Array.of(0, 0) }; // bytes a sector
  const longer = { offset: slot + 28, bytes: Uint8Array.of(0xff, 0xff, 0xff) };
  return [[], [longer], [noSectors], []];
}

// Linux's own vfat, as user-mode Linux: every Linux desk and most panels read a stick with it. One start for all.
describe("the kernel's vfat", () => {
  needs({ ...kernelPrograms, ...stickPrograms })(
    'reads what we format and what we write as it was meant: names, sizes, contents, and the space that is left',
    { tags: ['read-alike-by-all', 'any-machine-checks'], timeout: 600_000 },
    async () => {
      const archivePath = await makeArchive(scratch.path);
      const plain = [await volumeOf('small.img', 'fat16', 8), await volumeOf('large.img', 'fat32', 40)];
      for (const image of plain) mtools('mcopy', image, archivePath, `::${packageName}`);
      const made = [];
      for (const shape of shapes) made.push({ shape, ...(await formatted(shape)) });
      const ours = Object.entries(await waysOfOurs());
      const usefree = 'utf8=1,shortname=mixed,usefree'; // else it counts gigabytes of tables
      const [byFormat = [], ...read] = await readInKernel(
        [
          { image: 2e12, variants: made.map(({ changes }) => changes), options: usefree, asksMore: true },
          ...plain.map((image) => ({ image, variants: damaged(image) })),
          ...ours.map(([, image]) => ({ image, variants: [[]], isPartitioned: true, asksMore: true })),
        ],
        480_000,
      );
      for (const [index, { shape, clusters }] of made.entries()) {
        const name = `${shape.fileSystem} of ${shape.bytes} bytes, clusters of ${shape.clusterBytes}`;
        const { clusterBytes } = shape;
        const space = { clusterBytes, clusters, free: clusters - clustersOf(shape) };
        expect(byFormat[index], name).toEqual({ found: foundOfTree, space });
      }
      expect(byFormat.length).toBeGreaterThan(90);
      for (const [sound, longer, refused, again] of read.slice(0, plain.length)) {
        expect(sound?.found[packageName]).toEqual(stated(readFileSync(archivePath)));
        expect(longer?.found[packageName]).toBe('Input/output error');
        expect(refused).toEqual({ refused: 'Invalid argument', found: {} });
        expect(again).toEqual(sound);
      }
      for (const [index, [name, image]] of ours.entries()) checkWay(name, image, read[plain.length + index]?.[0]);
    },
  );
});

/** What the kernel found of a stick of ours is what mtools finds, and what its own list says. */
function checkWay(name: string, image: string, reading: KernelReading | undefined): void {
  const { files, fsck } = seeStick(image, scratch.path);
  const found = Object.entries(reading?.found ?? {}).filter(([, one]) => one !== 'folder');
  const hashes = found.map(([path, one]) => [path, typeof one === 'string' ? one : one.sha256]);
  expect(Object.fromEntries(hashes), name).toEqual(files);
  for (const [path, one] of found) if (typeof one !== 'string') expect(one.bytes, `${name}, ${path}`).toBe(one.stated);
  expect(fsck, name).toEqual([]);
  const isCleared = name === 'back';
  const listed = files['stickwright/checksums.sha256'];
  expect(listed === undefined, name).toBe(isCleared);
  expect(reading?.check?.code, name).toBe(isCleared ? undefined : 0);
  if (!isCleared) expect(reading?.check?.right, name).toBeGreaterThan(0);
}
