import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { customaryRules } from '../../../src/core/model/customary-rules.ts';
import type { Drive } from '../../../src/core/model/drive.ts';
import type { Losses, MediumPlace } from '../../../src/core/report/medium-reports.ts';
import { isTypedSize } from '../../../src/core/text/byte-size.ts';
import { findMedium, listLosses } from '../../../src/io/format/find-medium.ts';
import { formatMedium, planFormat } from '../../../src/io/format/format-medium.ts';
import { unmountCommands } from '../../../src/io/format/unmount-drive.ts';
import { readBackStick, writeStick } from '../../../src/io/format/write-stick.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { type FormatProposal, type FormatRequest, formatStick } from '../../../src/workflows/format-stick.ts';
import type { FormatPorts } from '../../../src/workflows/ports.ts';
import { MemoryDevice } from '../../fixtures/volumes/memory-device.ts';

const folder = mkdtempSync(join(tmpdir(), 'format-stick-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const mib = 2 ** 20;
const ports: FormatPorts = { findMedium, listLosses, planFormat, formatMedium };
let made = 0;

function request(target: string, overrides: Partial<FormatRequest> = {}): FormatRequest {
  return {
    target,
    mode: 'recovery',
    rules: customaryRules('recovery'),
    imageBytes: undefined,
    wish: {
      fileSystem: 'fat32',
      clusterBytes: undefined,
      volumeLabel: 'PANEL',
      volumeSerial: 7,
      at: '2026-09-14T08:00:00Z',
    },
    ...overrides,
  };
}

async function format(one: FormatRequest, says: boolean) {
  const proposals: FormatProposal[] = [];
  const report = await formatStick(one, ports, {
    tell: () => {},
    signal: new AbortController().signal,
    propose: async (proposal) => void proposals.push(proposal),
    agree: async () => says,
  });
  return { report, losses: proposals[0]?.losses as Losses };
}

const newPath = (): string => join(folder, `stick-${made++}.img`);

/**
 * An image that others used: GPT at both ends (UEFI 2.10, 5.3.2), ext superblock (s_magic at 1080), ISO 9660 (CD001 at
 * 32769).
 */
function usedImage(bytes: number): string {
  const path = newPath();
  writeFileSync(path, Buffer.alloc(bytes, 0x5a));
  const image = readFileSync(path);
  image.write('EFI PART', 512, 'latin1');
  image.write('EFI PART', bytes - 512, 'latin1');
  image.writeUInt16LE(0xef53, 1080);
  image.write('CD001', 32_769, 'latin1');
  writeFileSync(path, image);
  return path;
}

describe('clearing a medium that was used', () => {
  const running = { heard: () => {}, signal: new AbortController().signal };

  it('makes its first sectors and its last MiB zero, and what lies between is nobody’s business', async () => {
    const device = MemoryDevice.of(Buffer.alloc(8 * mib, 0x5a));
    await writeStick(device, { clearSectors: 100, writes: [] }, { ...running, isZero: false });
    const bytes = Buffer.from(device.bytes(0, 8 * mib));
    const expected = Buffer.alloc(8 * mib, 0x5a)
      .fill(0, 0, 100 * 512)
      .fill(0, 7 * mib);
    expect(bytes.equals(expected)).toBe(true);
  });

  it('is read back at both ends: a sector there that keeps what it held is told by its number', async () => {
    for (const sector of [0, 99, (7 * mib) / 512, (8 * mib) / 512 - 1]) {
      const device = MemoryDevice.of(Buffer.alloc(8 * mib));
      device.putBytes(sector * 512 + 511, Buffer.from([1]));
      const readBack = () => readBackStick('stick', device, { clearSectors: 100, writes: [] }, running);
      expect(readBack).toThrow(`sector ${sector} does not hold what was written`);
    }
  });
});

describe('formatting', () => {
  it('makes a new image file of the size that was asked for', async () => {
    const path = newPath();
    const { report } = await format(request(path, { imageBytes: 64 * mib }), true);
    expect(report).toMatchObject({ state: 'formatted', verdict: 'ready', findings: [], readBack: 'cache' });
    expect(report.made?.volumes[0]).toMatchObject({
      fileSystem: 'fat32',
      label: 'PANEL',
      serial: '0000-0007',
      files: 0,
    });
  });

  it('clears what was there: both ends of a GPT, old signatures, every file', async () => {
    const path = usedImage(40 * mib);
    const { report } = await format(request(path), true);
    expect(report).toMatchObject({ state: 'formatted', verdict: 'ready', findings: [] });
    const image = readFileSync(path);
    for (const sign of ['EFI PART', 'CD001', 'ZZZZ']) expect(image.includes(sign, 0, 'latin1')).toBe(false);
  });

  it('says what will be lost, and leaves it where the person says no', async () => {
    const path = newPath();
    await format(request(path, { imageBytes: 64 * mib }), true);
    const volume = await openVolume(path, 'write');
    const writer = await volume.create('PHOTO.JPG', 3);
    await writer.write(Buffer.from('abc'));
    await writer.close();
    await volume.close();
    const before = readFileSync(path);
    const { report, losses } = await format(request(path), false);
    expect(report).toMatchObject({ state: 'declined', made: undefined });
    expect(losses).toMatchObject({
      readable: true,
      files: 1,
      names: ['PHOTO.JPG'],
      volumes: [{ fileSystem: 'fat32', label: 'PANEL' }],
    });
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  it('stopped in the middle, says that what was there is gone', async () => {
    const path = usedImage(40 * mib);
    const controller = new AbortController();
    const report = await formatStick(request(path), ports, {
      tell: () => controller.abort(new Error('interrupted by SIGINT')),
      signal: controller.signal,
      propose: async () => {},
      agree: async () => true,
    });
    expect(report).toMatchObject({ state: 'unfinished', verdict: 'not-ready', made: undefined });
  });

  it('refuses before asking what the panel does not read', async () => {
    const path = newPath();
    const wish = { ...request(path).wish, fileSystem: 'fat16' as const };
    const { report } = await format(request(path, { imageBytes: 64 * mib, wish }), true);
    expect(report).toMatchObject({ state: 'refused', findings: [{ code: 'stick/file-system-not-taken' }] });
    expect(existsSync(path)).toBe(false);
  });

  it('stops where the medium is no longer the one that was shown', async () => {
    const path = usedImage(40 * mib);
    const shown = await findMedium(path, { mayBeNew: false });
    truncateSync(path, 0);
    const swapped: MediumPlace = { ...shown, kind: 'device' };
    const running = { signal: new AbortController().signal, heard: () => {} };
    await expect(formatMedium(swapped, request(path).wish, running)).rejects.toMatchObject({ code: 'stick/swapped' });
  });

  it.each([
    ['a folder', () => folder, 'stick/refused', /not a whole stick/],
    ['nothing', () => join(folder, 'absent.img'), 'stick/not-found', /no such/],
  ])('never takes %s', async (_, target, code, message) => {
    await expect(findMedium(target(), { mayBeNew: false })).rejects.toMatchObject({
      code,
      message: expect.stringMatching(message),
    });
  });

  it('never takes a folder for a new image, nor one inside a folder that is not there', async () => {
    mkdirSync(join(folder, 'sub'), { recursive: true });
    await expect(findMedium(join(folder, 'sub'), { mayBeNew: true })).rejects.toMatchObject({ code: 'stick/refused' });
    const far = join(folder, 'no', 'such', 'stick.img');
    await expect(format(request(far, { imageBytes: 64 * mib }), true)).rejects.toMatchObject({ name: 'ToolError' });
  });
});

describe("the drive's size, typed", { tags: ['only-the-stick'] }, () => {
  const bytes = 31_914_983_424; // a stick sold as 32 GB
  it.each(['32GB', '32 gb', '31.9 GB', '31,914,983,424', '31914983424 bytes', '29.7 GiB'])(
    '%s is this one',
    (typed) => {
      expect(isTypedSize(typed, bytes)).toBe(true);
    },
  );
  it.each(['', 'yes', '16GB', '64 GB', '32', '32 MB', '31914983425', '32GB; rm'])('%s is not', (typed) => {
    expect(isTypedSize(typed, bytes)).toBe(false);
  });
});

describe('unmounting', () => {
  const volume = {
    fileSystem: 'fat32',
    label: undefined,
    bytes: 1,
    freeBytes: 1,
    clusterBytes: 1,
    readOnly: false,
  } as const;
  const drive = {
    device: '/dev/sdb',
    volumes: [{ ...volume, device: '/dev/sdb1', mountPoints: ['/media/a', '/media/b'] }],
  } as unknown as Drive;

  it('lets go of every mount point, and never by force', () => {
    expect(unmountCommands(drive, 'linux')).toEqual([
      ['umount', '/media/a'],
      ['umount', '/media/b'],
    ]);
    expect(unmountCommands({ ...drive, device: '/dev/disk4' }, 'darwin')).toEqual([
      ['diskutil', 'unmountDisk', '/dev/disk4'],
    ]);
  });
});
