import { spawnSync } from 'node:child_process';
import { mkdirSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import type { MediumPlace } from '../../../src/core/report/medium-reports.ts';
import type { Drive } from '../../../src/io/drives/drives.ts';
import { type ClaimEdge, claimMedium } from '../../../src/io/format/claim-medium.ts';
import { findMedium, rawOnMacos } from '../../../src/io/format/find-medium.ts';
import { formatMedium } from '../../../src/io/format/format-medium.ts';
import { exfatCommand, exfatPlace } from '../../../src/io/format/make-exfat.ts';
import { unmountCommands } from '../../../src/io/format/unmount-drive.ts';
import { proveMedium } from '../../../src/io/prove/prove-medium.ts';
import { recordedDrive } from '../../fixtures/drives.ts';
import { attachLoop, canMount } from '../../fixtures/volumes/mounts.ts';
import { makeScratch, makeSparse, run } from '../../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../../outside/needs.ts';

const own = { tags: ['only-the-stick', 'nobodys-files-vanish'] };
const platforms = ['linux', 'darwin', 'win32'] as const;

/** A device name nobody has, so that nothing real is asked. */
const path = '/recorded/stick';
const drive: Drive = recordedDrive('/dev/sda', {
  device: path,
  bytes: 4096,
  serial: 'AA1',
  maker: 'Acme',
  model: 'Stick',
});
const shown: MediumPlace = { target: path, kind: 'device', path, bytes: 4096, drive };

function recording(platform: NodeJS.Platform, now: { drive?: Drive; bytes?: number; open?: () => never } = {}) {
  const calls: string[] = [];
  const edge: ClaimEdge = {
    platform,
    open: () => {
      calls.push('open');
      now.open?.();
      return { sizeBytes: now.bytes ?? 4096, close: async () => void calls.push('close') };
    },
    listDrives: async () => {
      calls.push('compare');
      return [now.drive ?? drive];
    },
    unmount: async () => void calls.push('let go'),
  };
  return { calls, edge };
}

describe('a medium that is to be erased', () => {
  test.each(platforms)(
    'is opened, measured and compared before anything lets go of it, on %s',
    own,
    async (platform) => {
      const { calls, edge } = recording(platform);
      await (await claimMedium(shown, edge)).release();
      expect(calls.filter((call) => call !== 'close')).toEqual(['open', 'compare', 'let go']);
      expect(calls.at(-1)).toBe('close');
    },
  );

  const refusals: readonly [string, Parameters<typeof recording>[1], string][] = [
    [
      'cannot be opened',
      {
        open: () => {
          throw new Error('no');
        },
      },
      'no',
    ],
    ['has sectors of 4 KiB', { drive: { ...drive, sectorBytes: 4096 } }, 'it has sectors of 4096 bytes'],
    ['has another size', { bytes: 8192 }, 'it has 8192 bytes now'],
    ['has another serial', { drive: { ...drive, serial: 'AA2' } }, 'another drive'],
    ['has no serial any more', { drive: { ...drive, serial: undefined } }, 'does not tell this time'],
    ['is of another make', { drive: { ...drive, maker: 'Other' } }, 'another drive'],
    ['is another model', { drive: { ...drive, model: 'Other' } }, 'another drive'],
    ['is listed with another size', { drive: { ...drive, bytes: 8192 } }, 'another drive'],
    ['is somewhere else', { drive: { ...drive, device: '/recorded/other' } }, 'does not tell this time'],
    [
      'is worked on by now',
      { drive: { ...drive, holds: ['the folder you work in'], refusedBecause: 'it holds the folder you work in' } },
      'it holds the folder you work in',
    ],
  ];
  test.each(refusals)('is not let go of where it %s', own, async (_, now, message) => {
    for (const platform of platforms) {
      const { calls, edge } = recording(platform, now);
      await expect(claimMedium(shown, edge)).rejects.toThrow(message);
      expect(calls).not.toContain('let go');
    }
  });

  test(
    'is asked on Windows once more, in the same breath as it is cleared, and an empty one is not cleared',
    own,
    () => {
      const windows = { ...drive, device: '\\\\.\\PhysicalDrive3', serial: "A'1" };
      const [[program, ...words] = []] = unmountCommands(windows, 'win32');
      expect(program).toBe('powershell.exe');
      const script = words.at(-1) ?? '';
      const order = [
        `$ErrorActionPreference = 'Stop'`,
        'Get-Disk -Number 3',
        '$disk.Size -ne 4096',
        "-ne 'A''1'",
        'throw',
        "-ne 'RAW'",
        'Clear-Disk',
      ];
      const at = order.map((part) => script.indexOf(part));
      expect(at.every((place) => place >= 0)).toBe(true);
      expect(at).toEqual(at.toSorted((a, b) => a - b));
      expect(script).not.toContain('"');
      const wish = { bytes: 4096, clusterBytes: undefined, volumeLabel: "O'K", volumeSerial: 1 };
      const made = exfatCommand(windows.device, wish, 'win32').at(-1) ?? '';
      // Each way that Windows may take the drive leads to one partition, and only the formatting itself must succeed.
      const steps = [
        'Update-Disk',
        'Get-Partition',
        'try { Initialize-Disk',
        'New-Partition',
        'Format-Volume',
        'throw',
      ];
      const places = steps.map((step) => made.indexOf(step));
      expect(places.every((place) => place > 0)).toBe(true);
      expect(places).toEqual(places.toSorted((a, b) => a - b));
      expect(made).toMatch(/^\$ErrorActionPreference = 'Stop'; /);
      expect(made).toContain('if (-not $part) { $part = New-Partition -DiskNumber 3');
      expect(made).toContain("-NewFileSystemLabel 'O''K'");
    },
  );
});

describe('a drive on macOS', () => {
  test.each([
    ['/dev/disk4', 'darwin', '/dev/rdisk4'],
    ['/dev/rdisk4', 'darwin', '/dev/rdisk4'],
    ['/dev/disk4', 'linux', '/dev/disk4'],
  ] as const)('%s on %s is written through %s', own, (path, platform, way) => {
    expect(rawOnMacos(path, platform)).toBe(way);
  });

  test('gets exFAT on its first partition by newfs_exfat, around the cache as well', own, () => {
    const wish = { bytes: 16e9, clusterBytes: 131_072, volumeLabel: 'PANEL', volumeSerial: 1 };
    expect(exfatPlace('/dev/rdisk4', 'darwin')).toBe('/dev/rdisk4s1');
    expect(exfatCommand('/dev/rdisk4s1', wish, 'darwin')).toEqual([
      ...['newfs_exfat', '-b', '131072', '-v', 'PANEL'],
      '/dev/rdisk4s1',
    ]);
  });
});

describe('on this computer', () => {
  const missing = canMount
    ? missingPrograms({ losetup: 'mount', 'mkfs.ext4': 'e2fsprogs' })
    : 'the right to attach loop devices (run as root)';
  const wish = {
    fileSystem: 'fat32',
    clusterBytes: undefined,
    volumeLabel: 'P',
    volumeSerial: 7,
    at: '2026-09-14T08:00:00Z',
  } as const;
  const running = { signal: new AbortController().signal, heard: () => {} };

  (missing === '' ? needs({}) : itWithout(missing))(
    'a mounted stick that is not the one that was shown stays mounted, with all that is on it',
    own,
    async () => {
      const scratch = makeScratch();
      try {
        const image = makeSparse(join(scratch.path, 'a.img'), 64 * 2 ** 20);
        run('mkfs.ext4', '-q', image);
        const device = attachLoop(scratch, image);
        const point = join(scratch.path, 'mounted');
        mkdirSync(point);
        run('mount', device, point);
        scratch.later(() => spawnSync('umount', [point]));
        writeFileSync(join(point, 'HOLIDAY.JPG'), 'picture');
        const place = await findMedium(device, { mayBeNew: false });
        const others: readonly MediumPlace[] = [
          { ...place, bytes: place.bytes - 512 },
          ...(place.drive === undefined ? [] : [{ ...place, drive: { ...place.drive, serial: 'ANOTHER' } }]),
        ];
        expect(others.length).toBe(2);
        for (const other of others) {
          // A loop device has no serial: that one was known, and is not told now, is not another drive, and no reason
          // to erase.
          const code = other.bytes === place.bytes ? 'drives/unavailable' : 'stick/swapped';
          await expect(formatMedium(other, wish, running)).rejects.toMatchObject({ code });
          await expect(proveMedium(other, 'sample', running)).rejects.toMatchObject({ code });
          expect(run('findmnt', '--noheadings', '--output', 'TARGET', '--source', device).trim()).toBe(point);
        }
        expect(run('ls', point)).toContain('HOLIDAY.JPG');
      } finally {
        scratch.undo();
      }
    },
  );

  test('an image file that changed its size since it was shown is not emptied', own, async () => {
    const scratch = makeScratch();
    try {
      const image = makeSparse(join(scratch.path, 'a.img'), 64 * 2 ** 20);
      const place = await findMedium(image, { mayBeNew: false });
      truncateSync(image, 0);
      writeFileSync(image, 'somebody put something else here');
      await expect(formatMedium(place, wish, running)).rejects.toMatchObject({ code: 'stick/swapped' });
      await expect(proveMedium(place, 'sample', running)).rejects.toMatchObject({ code: 'stick/swapped' });
      expect(run('cat', image)).toBe('somebody put something else here');
    } finally {
      scratch.undo();
    }
  });
});
