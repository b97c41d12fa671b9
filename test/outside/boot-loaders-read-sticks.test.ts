import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import CRC32 from 'crc-32';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { createStickImage } from '../../src/io/format/image-files.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { firmwareTree, makeArchive, prepare, sha256 } from '../fixtures/desk.ts';
import { grubPrograms, readByGrub } from '../fixtures/media/read-by-grub.ts';
import { runUBoot, uBootRom } from '../fixtures/media/run-u-boot.ts';
import { noDifference, readInUefi, uefiCode } from '../fixtures/media/run-uefi.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'u-boot-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const qemu = { 'qemu-system-x86_64': 'qemu-system-x86' } as const;
const byUBoot = needs({ ...qemu, ...(existsSync(uBootRom) ? {} : { 'u-boot.rom': 'u-boot-qemu' }) });
const byGrub = needs(grubPrograms);
const byUefi = needs({ ...qemu, mcopy: 'mtools', ...(existsSync(uefiCode) ? {} : { 'OVMF_CODE.fd': 'ovmf' }) });

/** Bytes that are no two clusters the same. */
function makeContent(bytes: number, start: number): Uint8Array {
  const content = new Uint8Array(bytes);
  for (let at = 0, state = start; at < bytes; at++) {
    state = (Math.imul(state, 1_103_515_245) + 12_345) >>> 0; // the generator of ISO C's example rand()
    content[at] = state >>> 16;
  }
  return content;
}

async function writeFile(image: string, path: string, content: Uint8Array): Promise<void> {
  const volume = await openVolume(image, 'write');
  try {
    const parent = path.split('/').slice(0, -1).join('/');
    if (parent !== '') await volume.makeFolder(parent);
    const writer = await volume.create(path, content.length);
    await writer.write(content);
    await writer.close();
    await volume.flush();
  } finally {
    await volume.close();
  }
}

const crcOf = (bytes: Uint8Array): string => (CRC32.buf(bytes) >>> 0).toString(16).padStart(8, '0');

/** Every cluster size that FAT32 can have, on sticks of all sizes; the files are sparse. */
const sticks = [
  { size: '64MB', bytes: 2 ** 26, clusterBytes: 512 },
  { size: '256MB', bytes: 2 ** 28, clusterBytes: 1024 },
  { size: '1GB', bytes: 1e9, clusterBytes: 2048 },
  { size: '4GB', bytes: 4e9, clusterBytes: 4096 },
  { size: '16GB', bytes: 16e9, clusterBytes: 8192 },
  { size: '32GB', bytes: 32e9, clusterBytes: 16_384 },
  { size: '64GB', bytes: 64e9, clusterBytes: 32_768 },
  { size: '2TB', bytes: 2e12, clusterBytes: 65_536 },
];
const imageOf = (size: string): string => join(folder, `${size}.img`);

const deepPath = 'system/Recovery image with a long name.img';
const files = { 'UPDATE.ZIP': makeContent(3_000_017, 1), [deepPath]: makeContent(70_001, 2) } as const;
const [firmware, deeper] = Object.values(files) as [Uint8Array, Uint8Array];

describe('boot loaders read the sticks that were formatted here', () => {
  beforeAll(async () => {
    for (const { size, bytes, clusterBytes } of sticks) {
      const at = new Date('2026-09-14T08:00:00Z');
      const shape = {
        bytes,
        clusterBytes,
        fileSystem: 'fat32',
        partitioned: true,
        volumeSerial: 0x20260914,
        at,
      } as const;
      await createStickImage(imageOf(size), { ...shape, volumeLabel: size });
      for (const [path, content] of Object.entries(files)) await writeFile(imageOf(size), path, content);
    }
  });

  describe.each(sticks)('$size, clusters of $clusterBytes bytes', ({ size, bytes }) => {
    byUBoot('U-Boot, over USB: partition, names and every byte', async () => {
      const [started, parts, listed, loaded, summed, , deepSummed] = await runUBoot(imageOf(size), [
        'usb start',
        'part list usb 0',
        'fatls usb 0:1 /',
        'fatload usb 0:1 0x2000000 /UPDATE.ZIP',
        // biome-ignore lint/suspicious/noTemplateCurlyInString: a variable of U-Boot
        'crc32 0x2000000 ${filesize}',
        `fatload usb 0:1 0x2000000 "/${deepPath}"`,
        // biome-ignore lint/suspicious/noTemplateCurlyInString: a variable of U-Boot
        'crc32 0x2000000 ${filesize}',
      ]);
      expect(started).toContain('1 Storage Device(s) found');
      const sectors = Math.floor(bytes / 512) - 2048;
      const [, stated = ''] = /Partition Type: DOS[\s\S]*\n\s+1\s+2048\s+(\d+)\s+\S+\s+0c/.exec(parts ?? '') ?? [];
      expect(Number(stated)).toBeGreaterThan(sectors - 4096);
      expect(Number(stated)).toBeLessThanOrEqual(sectors);
      expect(listed).toMatch(/3000017\s+UPDATE\.ZIP[\s\S]*system\/[\s\S]*1 file\(s\), 1 dir\(s\)/);
      expect(loaded).toContain('3000017 bytes read');
      expect(summed).toContain(`==> ${crcOf(firmware)}`);
      expect(deepSummed).toContain(`==> ${crcOf(deeper)}`);
    });

    byGrub('GRUB: names and every byte, and nothing else', async () => {
      expect(await readByGrub(imageOf(size))).toEqual({
        'update.zip': sha256(firmware),
        system: 'folder',
        [deepPath]: sha256(deeper),
      });
    });
  });

  byUefi(
    'UEFI firmware (EDK II), over USB, all of them at once: names and every byte',
    { timeout: 300_000 },
    async () => {
      const read = await readInUefi(
        sticks.map(({ size }) => imageOf(size)),
        files,
        folder,
      );
      expect([...read.keys()].toSorted()).toEqual(sticks.map(({ size }) => size).toSorted());
      for (const [size, { listed, compared }] of read) {
        expect(listed, size).toMatch(/3,000,017\s+UPDATE\.ZIP[\s\S]*70,001\s+Recovery image with a long name\.img/);
        expect(compared, size).toEqual({ 'UPDATE.ZIP': noDifference, [deepPath]: noDifference });
      }
    },
  );
});

/** Names that readers come to blows over: capitals, small and mixed, other alphabets, long ones that begin alike. */
const names = {
  ...firmwareTree,
  'images/UPPER.LOW': makeContent(100, 3),
  'images/Mixed.Bin': makeContent(101, 4),
  'images/two.dots.tar.gz': makeContent(102, 5),
  'images/.hidden': makeContent(103, 6),
  'images/a+b[c].t;t': makeContent(104, 7),
  'images/Größe, and a long name.img': makeContent(105, 8),
  'images/低.img': makeContent(106, 9),
  'images/deeper/and deeper/longname-longname-longname-1.bin': makeContent(107, 10),
  'images/deeper/and deeper/longname-longname-longname-2.bin': makeContent(108, 11),
} as const;

describe('boot loaders read a stick that was prepared here', { tags: ['read-alike-by-all'] }, () => {
  const image = join(folder, 'prepared.img');
  beforeAll(async () => {
    await createStickImage(image, { bytes: 16e9, fileSystem: 'fat32', partitioned: true, volumeLabel: 'PANEL' });
    const tree = Object.fromEntries(Object.entries(names).map(([path, content]) => [path, Buffer.from(content)]));
    const { report } = await prepare({ archivePath: await makeArchive(folder, tree), targets: [image] });
    expect(report.sticks[0]?.state).toBe('written');
  });

  byUBoot('U-Boot: every file of the firmware, at the root, and the record behind it', async () => {
    const paths = Object.entries(firmwareTree).filter(([, content]) => content.length > 0);
    const [, listed, ...answers] = await runUBoot(image, [
      'usb start',
      'fatls usb 0:1 /',
      ...paths.flatMap(([path]) => [
        `fatload usb 0:1 0x2000000 /${path}`,
        // biome-ignore lint/suspicious/noTemplateCurlyInString: a variable of U-Boot
        'crc32 0x2000000 ${filesize}',
      ]),
    ]);
    expect(listed).toMatch(/images\/[\s\S]*sedge_boot\.pkg[\s\S]*stickwright\//);
    for (const [index, [path, content]] of paths.entries()) {
      expect(answers[index * 2], path).toContain(`${content.length} bytes read`);
      expect(answers[index * 2 + 1], path).toContain(`==> ${crcOf(content)}`);
    }
  });

  byGrub('GRUB: every file and folder, and nothing else but the record', async () => {
    const read = await readByGrub(image);
    const found = Object.entries(read).filter(([path, what]) => what !== 'folder' && !path.startsWith('stickwright/'));
    expect(Object.fromEntries(found)).toEqual(
      Object.fromEntries(
        Object.entries(names).map(([path, content]) => [path.replace('UPPER.LOW', 'upper.low'), sha256(content)]),
      ),
    );
    expect(Object.keys(read)).toContain('stickwright/manifest.json');
    expect(read['']).toBeUndefined();
  });

  byUefi('UEFI firmware (EDK II): every file of the firmware', { timeout: 300_000 }, async () => {
    const read = await readInUefi([image], names, folder);
    const { listed = '', compared = {} } = read.get('PANEL') ?? {};
    expect(compared).toEqual(Object.fromEntries(Object.keys(names).map((path) => [path, noDifference])));
    expect(listed).toMatch(/manifest\.json/);
  });
});
