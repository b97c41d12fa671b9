import { readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect } from 'vitest';
import { encodeMbr, partitionSectors } from '../../src/core/volume-format/layout/encode-fat-volume.ts';
import { makeSparse, run } from '../fixtures/volumes/scratch.ts';
import { onZ, type WineDesk } from '../fixtures/wine/desk.ts';
import { type ListedStick, says } from '../fixtures/wine/sticks.ts';
import type { needs } from './needs.ts';

const mebibyte = 2 ** 20;
/** An MBR with one partition for exFAT, and nothing in it: a run that was cut off leaves that. */
const tableAlone = Buffer.from(encodeMbr('exfat', partitionSectors(2 ** 17), 7));
const own = { tags: ['only-the-stick', 'plan-before-touch'] };

/**
 * Whole drives as a Windows process erases them; a part of `windows.test.ts`, which has the desk. A drive is an image
 * file under the name of one. Wine asks less of whoever uses it than Windows does: any length may be read, its size is
 * told, and no volume on it is ever mounted. PowerShell is a stand-in: nothing is cleared but by our own writes.
 */
export function describeRaw(desk: WineDesk, itOnWine: ReturnType<typeof needs>): void {
  const { stickwright } = desk;
  let number = 4;
  interface Plugged {
    readonly drive: string;
    readonly image: string;
    readonly before: Buffer;
  }
  /** A stick of 64 MiB that IS in some state, and is listed so when it is looked for, and LATER when it is claimed. */
  function plugIn(
    is: 'used' | 'empty' | 'half-formatted',
    first: Partial<ListedStick> = {},
    later: Partial<ListedStick> = {},
  ): Plugged {
    number++;
    const image = makeSparse(join(desk.folder, `raw-${number}.img`), 64 * mebibyte);
    if (is === 'used') run('mkfs.fat', '-F', '32', '-n', 'HOLIDAY', image);
    if (is === 'half-formatted') writeFileSync(image, tableAlone, { flag: 'r+' });
    const drive = desk.rawDrive(number, image);
    // It is looked for twice before anything is agreed to: for itself, and for what is on it.
    const lists = [first, first, later].map((one) => says({ number, letters: [], ...one }));
    desk.answerPowerShell(...lists.map((stdout) => ({ stdout })));
    return { drive, image, before: readFileSync(image) };
  }
  const erasing = ['--drive-size', '67MB', '--untried'];
  const format = (drive: string, ...more: readonly string[]) =>
    stickwright('format', drive, '--for', 'in-os', ...erasing, ...more);
  const prove = (drive: string) => stickwright('prove', drive, '--sample', ...erasing);
  const orderOf = (...parts: readonly string[]): readonly number[] => parts.map((part) => desk.asked.indexOf(part));
  const inOrder = (places: readonly number[]): readonly number[] => places.toSorted((one, other) => one - other);

  /** Its one partition as a file of its own. */
  function partitionOf({ image }: Plugged): string {
    const volume = `${image}.volume`;
    writeFileSync(volume, readFileSync(image).subarray(mebibyte));
    return volume;
  }

  describe('a whole drive on Windows', () => {
    itOnWine('is formatted as others read it: opened, compared, cleared, written and read back', own, () => {
      const stick = plugIn('used');
      const { exitCode, stdout, stderr } = format(stick.drive.toUpperCase(), '--volume-label', 'PANEL');
      expect([exitCode, stdout], stderr).toEqual([0, expect.stringContaining('PANEL')]);
      expect(run('fsck.fat', '-n', partitionOf(stick))).not.toMatch(/dirty|differ/i);
      expect(run('mlabel', '-s', '-i', `${stick.image}@@1M`, '::')).toContain('PANEL');
      const places = orderOf(
        '$disks = Get-Disk',
        'another drive',
        `Clear-Disk -Number ${number}`,
        'Update-HostStorage',
      );
      expect(places).toEqual(inOrder(places));
      expect(places).not.toContain(-1);
      const proven = prove(stick.drive);
      expect(proven.stdout, proven.stderr).toMatch(/written\s+and\s+read\s+back/);
    });

    const isOther = () => plugIn('used', {}, { serial: 'AA0002' });
    const refusals: readonly [string, () => Plugged, RegExp, typeof format?][] = [
      ['another one has its number by then', isOther, /\[stick\/swapped\]/],
      ['another one has its number by then, and it was to be proved', isOther, /\[stick\/swapped\]/, prove],
      ['it has 4K sectors', () => plugIn('used', { sectorBytes: 4096 }), /It has sectors of 4096 bytes/],
      [
        'its size is not the one that is listed',
        () => {
          const stick = plugIn('used');
          truncateSync(stick.image, 65 * mebibyte);
          return { ...stick, before: readFileSync(stick.image) };
        },
        /It has 68157440 bytes now/,
      ],
    ];
    for (const [why, make, words, erase = format] of refusals)
      itOnWine(`is left as it is where ${why}`, own, () => {
        const { drive, image, before } = make();
        const { exitCode, stdout, stderr } = erase(drive);
        expect([exitCode, (stdout + stderr).replace(/\s+/g, ' ')]).toEqual([3, expect.stringMatching(words)]);
        expect(readFileSync(image).equals(before)).toBe(true);
        expect(desk.asked).not.toMatch(/Clear-Disk|Format-Volume/);
      });

    itOnWine('is left as it is where nobody typed that this way is untried', own, () => {
      const { drive, image, before } = plugIn('used');
      const { exitCode, stderr } = stickwright('format', drive, '--for', 'in-os', '--drive-size', '67MB', '--yes');
      expect([exitCode, stderr.replace(/\s+/g, ' ')]).toEqual([
        2,
        expect.stringContaining('Erasing a drive on Windows has never run on a real machine'),
      ]);
      expect(readFileSync(image).equals(before)).toBe(true);
      expect(desk.asked).not.toMatch(/Clear-Disk|Format-Volume/);
    });

    for (const is of ['used', 'empty', 'half-formatted'] as const)
      itOnWine(`is made exFAT by Windows' own formatter, one that is ${is}`, own, () => {
        const stick = plugIn(is);
        const volume = makeSparse(join(desk.folder, `${is}.exfat`), 63 * mebibyte);
        run('mkfs.exfat', '-L', 'PANEL', volume);
        // Longer than a question to the system may take: what changes a drive is not ended in the middle.
        const takesMs = is === 'empty' ? 21_000 : 0;
        const formats = { from: onZ(volume), to: onZ(stick.image), atByte: mebibyte, takesMs };
        desk.answerPowerShell({ stdout: says({ number, letters: [] }), formats });
        const { exitCode, stdout, stderr } = format(stick.drive, '--file-system', 'exfat');
        expect([exitCode, stdout], stderr).toEqual([0, expect.stringMatching(/exFAT/)]);
        const places = orderOf('$disks = Get-Disk', 'Clear-Disk', 'Format-Volume', 'Update-HostStorage');
        expect(places).toEqual(inOrder(places));
        expect(places).not.toContain(-1);
        expect(run('fsck.exfat', '-n', partitionOf(stick))).toContain('clean');
      });

    itOnWine('is not called exFAT where the formatter only said so', own, () => {
      const { drive } = plugIn('used');
      const { exitCode, stdout, stderr } = format(drive, '--file-system', 'exfat');
      expect([exitCode, stdout], stderr).toEqual([1, expect.stringContaining('[medium/boot-sector-damaged]')]);
    });
  });
}
