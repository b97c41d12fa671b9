import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterAll, describe, expect } from 'vitest';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';
import { makeSparse, run } from '../fixtures/volumes/scratch.ts';
import { onZ, type WineDesk } from '../fixtures/wine/desk.ts';
import type { needs } from './needs.ts';

/** Drives, letters and PowerShell as a Windows process sees them; a part of `windows.test.ts`, which has the desk. */
export function describeDrives(
  desk: WineDesk,
  itOnWine: ReturnType<typeof needs>,
  jobFor: (target: string) => readonly string[],
): void {
  const { stickwright } = desk;
  const mounted: string[] = [];
  afterAll(() => {
    for (const point of mounted) spawnSync('umount', ['-l', point]);
  });

  /** A FAT stick behind LETTER, whose sectors Windows may read. Resolves to what pulls it. */
  async function plugIn(letter: string, name: string, serial = 'AB12CD34', how = 'rw+'): Promise<() => void> {
    const image = makeSparse(join(desk.folder, `${name}.img`), 64 * 2 ** 20);
    run('mkfs.fat', '-F', '32', '-i', serial, '-n', 'PANELS', image);
    const folder = join(desk.folder, `mounted ${name}`);
    mkdirSync(folder);
    const driver = spawn('fusefat', ['-f', '-o', how, image, folder], { stdio: 'ignore' });
    mounted.push(folder);
    while (spawnSync('mountpoint', ['-q', folder]).status !== 0) await wait(20);
    desk.letter(letter, folder, image);
    return () => driver.kill('SIGKILL');
  }

  interface ListedStick {
    readonly number: number;
    readonly letters: readonly string[];
    readonly serial?: string;
    readonly isReadOnly?: boolean;
    readonly label?: string;
  }
  const list = (...sticks: readonly ListedStick[]) => ({
    disks: sticks.map(({ number, serial = 'AA0001', isReadOnly = false }) => ({
      ...{ Number: number, FriendlyName: 'Acme Stick', Manufacturer: 'Acme', Model: 'Stick', SerialNumber: serial },
      ...{ Size: 67_108_864, IsBoot: false, IsSystem: false, IsReadOnly: isReadOnly, LogicalSectorSize: 512 },
      ...{ BusType: 'USB', PartitionStyle: 'RAW' },
    })),
    partitions: sticks.flatMap(({ number, letters }) =>
      letters.map((letter, at) => ({
        DiskNumber: number,
        PartitionNumber: at + 1,
        Size: 67_108_864,
        DriveLetter: letter,
      })),
    ),
    volumes: sticks.flatMap(({ letters, label = 'PANELS' }) =>
      letters.map((letter) => ({
        DriveLetter: letter,
        FileSystem: 'FAT32',
        FileSystemLabel: label,
        DriveType: 'Removable',
      })),
    ),
  });
  const says = (...sticks: readonly ListedStick[]): string => `${JSON.stringify({ said: list(...sticks) })}\r\n`;

  describe('drives on Windows', () => {
    itOnWine('are listed under names that the commands take, and a stick is judged by all that is told', async () => {
      await plugIn('f', 'listed');
      desk.answerPowerShell({ stdout: says({ number: 1, letters: ['F'], label: 'GR\u00dcN' }) });
      const { stdout } = stickwright('drives');
      expect(desk.asked).toContain('Get-Disk');
      for (const told of ['\\\\.\\PhysicalDrive1', 'F:', 'Acme Stick', 'GRÜN', 'FAT32']) expect(stdout).toContain(told);
      const firmware = await makeArchive(desk.folder);
      const prepared = stickwright('prepare', onZ(firmware), ...jobFor('F:'));
      expect(prepared.stdout).toContain('PhysicalDrive1 Acme Stick AA0001');
      expect(prepared.stdout).toContain('FAT32, clusters of 512 bytes');
      expect([prepared.exitCode, prepared.stdout]).toEqual([4, expect.stringContaining('Written, read back')]);
      expect(stickwright('verify', 'f:\\', '--label', panelLabel).exitCode).toBe(4);
      // The name of the whole drive is for erasing; everything else is told what to give instead.
      for (const name of ['\\\\.\\PhysicalDrive1', '//./PHYSICALDRIVE1', '\\\\.\\F:']) {
        const refused = stickwright('verify', name, '--label', panelLabel);
        expect([refused.exitCode, refused.stderr.replace(/\s+/g, ' ')], name).toEqual([
          3,
          expect.stringMatching(/Give F: instead\..*\[stick\/refused\]|\[stick\/refused\].*Give F: instead\./),
        ]);
      }
    });

    itOnWine('are let go of and cleared only when the drive itself could be opened', async () => {
      desk.answerPowerShell({ stdout: says({ number: 1, letters: ['F'] }) });
      const words = ['--for', 'in-os', '--drive-size', '67MB', '--untried'];
      const { exitCode, stderr } = stickwright('format', '\\\\.\\PhysicalDrive1', ...words);
      expect([exitCode, stderr]).toEqual([3, expect.stringMatching(/\[stick\/|\[file\//)]); // Wine has no such drive
      expect(desk.asked).toContain('Get-Disk');
      expect(desk.asked).not.toMatch(/Clear-Disk|Format-Volume/);
    });

    const answers = {
      'says nothing': [{ stdout: '' }, 'PowerShell says nothing'],
      'breaks off': [{ stdout: '{"said":{"disks":[' }, 'breaks off'],
      'is restricted': [{ stdout: '{"failed":"Get-Disk: Zugriff \\u2013 gesperrt"}\r\n' }, 'Zugriff – gesperrt'],
      fails: [{ stderr: 'Der Befehl "Get-Disk" f\u0081r x.\r\nIn Zeile:1\r\n', exitCode: 1 }, 'Der Befehl "Get-Disk"'],
    } as const;
    for (const [how, [answer, why]] of Object.entries(answers))
      itOnWine(`where PowerShell ${how} are letters all the same, and what is missing is said`, () => {
        desk.answerPowerShell(answer);
        const verified = stickwright('verify', 'F:', '--label', panelLabel);
        expect([verified.exitCode, verified.stdout]).toEqual([4, expect.stringContaining('1 of 1 file')]);
        // Without a list the volume's own sectors tell what it is.
        expect(verified.stdout).toContain('FAT32, clusters of 512 bytes');
        const listed = stickwright('drives');
        expect(listed.exitCode).toBe(3);
        expect(listed.stderr.replace(/\s+/g, ' ')).toContain(why);
        expect(listed.stderr.replace(/\s+/g, ' ')).toContain('Give the stick by its drive letter (E:)');
      });

    itOnWine('are understood with a byte order mark, and beside it what else is printed', () => {
      desk.answerPowerShell({
        stdout: `\ufeffWARNING: x\r\n\ufeff${says({ number: 1, letters: ['F'] })}`,
        stderr: 'x',
      });
      expect(stickwright('drives').stdout).toContain('Acme Stick');
    });

    itOnWine('that are write-protected by their switch are refused before anything is asked', async () => {
      desk.answerPowerShell({ stdout: says({ number: 1, letters: ['F'], isReadOnly: true }) });
      const firmware = await makeArchive(desk.folder);
      const { exitCode, stdout } = stickwright('prepare', onZ(firmware), ...jobFor('F:'), '--leftovers', 'remove');
      expect([exitCode, stdout]).toEqual([1, expect.stringContaining('[stick/read-only]')]);
    });

    itOnWine('with two letters are one stick, and cloned ones are two', async () => {
      await plugIn('g', 'clone one', '0000AAAA');
      await plugIn('h', 'clone two', '0000AAAA');
      const firmware = await makeArchive(desk.folder);
      const both = [...jobFor('G:'), '--stick', 'H:'];
      desk.answerPowerShell({ stdout: says({ number: 2, letters: ['G', 'H'] }) });
      expect(stickwright('prepare', onZ(firmware), ...both).stdout).toContain('[stick/in-use]');
      // Of the clones Windows gives one serial number, of the volume and of the drive.
      const clones = says({ number: 2, letters: ['G'] }, { number: 3, letters: ['H'] });
      for (const stdout of ['', clones]) {
        desk.answerPowerShell({ stdout });
        const { exitCode, stdout: said } = stickwright('prepare', onZ(firmware), ...both, '--leftovers', 'remove');
        expect([exitCode, said.match(/Written, read back/g)?.length], said).toEqual([4, 2]);
        expect(said).not.toContain('[stick/in-use]');
      }
    });
  });

  describe('a stick on Windows that fails', () => {
    itOnWine('because it was pulled fails alone', async () => {
      const pull = await plugIn('k', 'pulled');
      await plugIn('l', 'stays');
      desk.answerPowerShell({ stdout: '' });
      const firmware = await makeArchive(desk.folder);
      pull();
      const { exitCode, stdout } = stickwright('prepare', onZ(firmware), ...jobFor('K:'), '--stick', 'L:');
      // As far as Wine had come to notice that nothing is behind the letter any more.
      expect([exitCode, stdout]).toEqual([3, expect.stringMatching(/\[stick\/(not-found|gone|read-failed)\] K:/)]);
      expect(stdout).toContain('Written, read back and recorded.');
      expect(stickwright('verify', 'L:', '--label', panelLabel).stdout).toContain('1 of 1 file');
    });

    itOnWine('with an answer that libuv has no word for fails alone, and is named', async () => {
      await plugIn('o', 'sound');
      const firmware = await makeArchive(desk.folder);
      const shim = ['--require', onZ('test/fixtures/wine/unknown-errors.cjs')];
      const ours = [desk.node, ...shim, onZ(join(desk.tool, 'app/bin/stickwright.js'))];
      const words = ['prepare', onZ(firmware), ...jobFor('M:'), '--stick', 'O:'];
      const { exitCode, stdout } = desk.wine([...ours, ...words], { UNKNOWN_LETTER: 'm:' });
      expect([exitCode, stdout]).toEqual([3, expect.stringContaining('[stick/not-ready]')]);
      expect(stdout).toContain('Windows shows the letter, but no medium answers behind it');
      expect(stickwright('verify', 'O:', '--label', panelLabel).exitCode).toBe(4);
    });

    itOnWine('because a scanner holds what is fresh is waited for', async () => {
      const stick = desk.letter('n', join(desk.folder, 'scanned'));
      const firmware = await makeArchive(desk.folder);
      const log = join(desk.folder, 'scanner.txt');
      const scanning = desk.begin([desk.node, onZ('test/fixtures/wine/scanner.cjs'), 'N:\\', '700', onZ(log)]);
      while (!existsSync(`${log}.begun`)) await wait(20);
      const prepared = stickwright('prepare', onZ(firmware), ...jobFor('N:'));
      writeFileSync(`${log}.stop`, '');
      await scanning;
      expect([prepared.exitCode, prepared.stdout]).toEqual([4, expect.stringContaining('Written, read back')]);
      // The firmware at least, which is moved to its final name right after it was read back.
      expect(Number(readFileSync(log, 'utf8'))).toBeGreaterThan(0);
      expect(readdirSync(stick).toSorted()).toEqual([packageName, 'stickwright']);
      expect(stickwright('verify', 'N:', '--label', panelLabel).stdout).toContain('1 of 1 file');
    });

    itOnWine('because a program does not let go says what holds up, and goes on when it did', async () => {
      desk.letter('p', join(desk.folder, 'held'));
      const firmware = await makeArchive(desk.folder);
      const log = join(desk.folder, 'holder.txt');
      const holding = desk.begin([desk.node, onZ('test/fixtures/wine/scanner.cjs'), 'P:\\', '600000', onZ(log)]);
      while (!existsSync(`${log}.begun`)) await wait(20);
      const job = ['prepare', onZ(firmware), ...jobFor('P:'), '--leftovers', 'remove'];
      const held = stickwright(...job);
      expect([held.exitCode, held.stdout]).toEqual([3, expect.stringContaining('[stick/in-use]')]);
      expect(held.stdout.replace(/\s+/g, ' ')).toContain('did not let go within 10 s');
      desk.kill();
      await holding;
      expect(stickwright(...job).stdout).toContain('Written, read back');
    });
  });
}
