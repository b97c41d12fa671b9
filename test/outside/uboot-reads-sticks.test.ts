import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import CRC32 from 'crc-32';
import { afterAll, describe, expect } from 'vitest';
import { createStickImage } from '../../src/io/format/image-files.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { firmwareTree, makeArchive, prepare } from '../fixtures/desk.ts';
import { runUBoot, uBootRom } from '../fixtures/media/run-u-boot.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'u-boot-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const hasRom = existsSync(uBootRom);
const outside = needs({ 'qemu-system-x86_64': 'qemu-system-x86', ...(hasRom ? {} : { 'u-boot.rom': 'u-boot-qemu' }) });

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
  { size: '64 MB', bytes: 2 ** 26, clusterBytes: 512 },
  { size: '256 MB', bytes: 2 ** 28, clusterBytes: 1024 },
  { size: '1 GB', bytes: 1e9, clusterBytes: 2048 },
  { size: '4 GB', bytes: 4e9, clusterBytes: 4096 },
  { size: '16 GB', bytes: 16e9, clusterBytes: 8192 },
  { size: '32 GB', bytes: 32e9, clusterBytes: 16_384 },
  { size: '64 GB', bytes: 64e9, clusterBytes: 32_768 },
  { size: '2 TB', bytes: 2e12, clusterBytes: 65_536 },
];

describe.each(sticks)(
  'U-Boot, a boot loader, reads a stick that was formatted here',
  ({ size, bytes, clusterBytes }) => {
    outside(`${size}, clusters of ${clusterBytes} bytes, over USB: partition, names and every byte`, async () => {
      const image = join(folder, `${size}.img`);
      await createStickImage(image, {
        bytes,
        clusterBytes,
        fileSystem: 'fat32',
        partitioned: true,
        volumeLabel: 'PANEL',
        volumeSerial: 0x20260914,
        at: new Date('2026-09-14T08:00:00Z'),
      });
      const firmware = makeContent(3_000_017, 1);
      const deeper = makeContent(70_001, 2);
      await writeFile(image, 'UPDATE.ZIP', firmware);
      await writeFile(image, 'system/Recovery image with a long name.img', deeper);

      const [started, parts, listed, loaded, summed, , deepSummed] = await runUBoot(image, [
        'usb start',
        'part list usb 0',
        'fatls usb 0:1 /',
        'fatload usb 0:1 0x2000000 /UPDATE.ZIP',
        // biome-ignore lint/suspicious/noTemplateCurlyInString: a variable of U-Boot
        'crc32 0x2000000 ${filesize}',
        'fatload usb 0:1 0x2000000 "/system/Recovery image with a long name.img"',
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
  },
);

describe('U-Boot reads a stick that was prepared here', { tags: ['read-alike-by-all'] }, () => {
  outside('recovery: every file of the firmware, at the root, and the record behind it', async () => {
    const image = join(folder, 'prepared.img');
    await createStickImage(image, { bytes: 16e9, fileSystem: 'fat32', partitioned: true, volumeLabel: 'PANEL' });
    const { report } = await prepare({ archivePath: await makeArchive(folder), targets: [image] });
    expect(report.sticks[0]?.state).toBe('written');
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
});
