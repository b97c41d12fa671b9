import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import CRC32 from 'crc-32';
import { afterAll, describe, expect } from 'vitest';
import { createStickImage } from '../../src/io/format/create-stick-image.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
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

describe('U-Boot, a boot loader, reads a stick that was formatted here', () => {
  outside('64 GB, over USB: partition, names and every byte', async () => {
    const image = join(folder, 'stick.img');
    await createStickImage(image, {
      bytes: 64e9,
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
    expect(parts).toMatch(/Partition Type: DOS[\s\S]*\n\s+1\s+2048\s+124997952\s+\S+\s+0c/);
    expect(listed).toMatch(/3000017\s+UPDATE\.ZIP[\s\S]*system\/[\s\S]*1 file\(s\), 1 dir\(s\)/);
    expect(loaded).toContain('3000017 bytes read');
    expect(summed).toContain(`==> ${crcOf(firmware)}`);
    expect(deepSummed).toContain(`==> ${crcOf(deeper)}`);
  });
});
