import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { makeArchive, panelLabel } from '../fixtures/desk.ts';
import { makeSparse, run } from '../fixtures/volumes/scratch.ts';
import { onZ, type WineDesk } from '../fixtures/wine/desk.ts';
import { says, WineSticks } from '../fixtures/wine/sticks.ts';
import type { needs } from './needs.ts';

/** Drives, letters and PowerShell as a Windows process sees them; a part of `windows.test.ts`, which has the desk. */
export function describeDrives(
  desk: WineDesk,
  itOnWine: ReturnType<typeof needs>,
  jobFor: (target: string) => readonly string[],
): void {
  const { stickwright } = desk;
  const sticks = new WineSticks(desk);
  afterAll(() => sticks.unplugAll());

  describe('drives on Windows', () => {
    itOnWine('are listed under names that the commands take, and a stick is judged by all that is told', async () => {
      await sticks.plugIn('f', 'listed');
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

    itOnWine('where there is no PowerShell, too', () => {
      desk.withoutPowerShell(() => {
        expect(stickwright('verify', 'F:', '--label', panelLabel).exitCode).toBe(4);
        const listed = stickwright('drives');
        expect([listed.exitCode, listed.stderr.replace(/\s+/g, ' ')]).toEqual([
          3,
          expect.stringMatching(/powershell\.exe is not among the programs of this system.*drive letter \(E:\)/),
        ]);
      });
    });

    itOnWine('where PowerShell takes too long, too', async () => {
      desk.answerPowerShell({ stdout: says({ number: 1, letters: ['F'] }), afterMs: 30_000 });
      const cmd = ['cmd', '/c', 'stickwright.cmd'];
      const [verified, listed] = await Promise.all([
        desk.begin([...cmd, 'verify', 'F:', '--label', panelLabel]),
        desk.begin([...cmd, 'drives']),
      ]);
      expect([verified.exitCode, verified.stdout]).toEqual([4, expect.stringContaining('1 of 1 file')]);
      expect([listed.exitCode, listed.stderr.replace(/\s+/g, ' ')]).toEqual([
        3,
        expect.stringMatching(/powershell\.exe did not answer within 20 s.*drive letter \(E:\)/),
      ]);
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

    itOnWine('with sectors of 4096 bytes are refused by their letter, too', async () => {
      const image = makeSparse(join(desk.folder, '4k.img'), 512 * 2 ** 20);
      run('mkfs.fat', '-F', '32', '-S', '4096', '-s', '1', image);
      desk.letter('x', join(desk.folder, '4k'), image);
      desk.answerPowerShell({ stdout: says({ number: 4, letters: ['X'], sectorBytes: 4096 }) });
      const firmware = await makeArchive(desk.folder);
      // Which boot loaders read, and what a panel's own system takes is for it to say.
      const job = jobFor('X:').map((word) => (word === 'in-os' ? 'recovery' : word));
      const { exitCode, stdout } = stickwright('prepare', onZ(firmware), ...job);
      expect([exitCode, stdout]).toEqual([1, expect.stringContaining('[stick/sectors-too-large]')]);
    });

    itOnWine('with two letters are one stick, and cloned ones are two', async () => {
      await sticks.plugIn('g', 'clone one', '0000AAAA');
      await sticks.plugIn('h', 'clone two', '0000AAAA');
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
}
