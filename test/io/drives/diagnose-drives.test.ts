import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { homedir, tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { diagnoseDrives } from '../../../src/io/drives/diagnose-drives.ts';
import { macosDrivesBy } from '../../../src/io/drives/macos-drives.ts';
import { parseLsblk } from '../../../src/io/drives/parse-lsblk.ts';
import { parseStorage } from '../../../src/io/drives/windows-drives.ts';
import { stickwright } from '../../fixtures/command.ts';
import { needs } from '../../outside/needs.ts';

const recorded = (name: string): string => readFileSync(new URL(`recorded/${name}`, import.meta.url), 'utf8');
const saidTo = ({ answers }: Awaited<ReturnType<typeof diagnoseDrives>>, asked: string): string =>
  answers.find((one) => one.asked.startsWith(asked))?.said ?? '';
const withoutSerial = (drives: readonly { readonly serial: string | undefined }[]): unknown =>
  drives.map((drive) => ({ ...drive, serial: undefined }));

// What is written must do as a recording: read again it lists the same drives, but for their serial numbers.
describe('what a system says of its drives, to send along', () => {
  it('of Linux', async () => {
    const json = recorded('lsblk-2.39-udev.json');
    const said = saidTo(await diagnoseDrives('1', 'linux', async () => json), 'lsblk');
    const [before, after] = [parseLsblk(json, []), parseLsblk(said, [])];
    expect(withoutSerial(after)).toEqual(withoutSerial(before));
    const serials = before.flatMap(({ serial }) => (serial !== undefined && serial.length > 4 ? [serial] : []));
    expect(serials.length).toBeGreaterThan(0);
    for (const serial of serials) {
      expect(said).not.toMatch(new RegExp(`"serial": *"${serial}`));
      expect(said).toContain(serial.slice(-4));
    }
  });

  it('of macOS, of each disk', async () => {
    const stick = recorded('diskutil-stick.plist').replace(
      '<key>WholeDisk</key>',
      '<key>DiskUUID</key><string>5A1B2C3D-0000-1111-2222-33334444ABCD</string><key>WholeDisk</key>',
    );
    const run = async (_: string, words: readonly string[]): Promise<string> => {
      if (words[0] === 'list') return recorded('diskutil-list.plist');
      if (words[0] === '-P') return `Filesystem\n/dev/disk3s1s1 1 1 1 1% /\n/dev/disk3s5 1 1 1 1% ${homedir()}\n`;
      if (words.at(-1) === 'disk4') return stick;
      if (words.at(-1) === 'disk4s1') return recorded('diskutil-volume.plist');
      throw new Error('Command failed: x\nCould not find disk');
    };
    const told = await diagnoseDrives('1', 'darwin', run);
    expect(JSON.stringify(told)).not.toContain('5A1B2C3D');
    expect(saidTo(told, 'diskutil info -plist disk4')).toContain('XXXXXXXX-XXXX-XXXX-XXXX-XXXXXXXXABCD');
    expect(told.answers.some(({ failed }) => failed === 'Could not find disk')).toBe(true);
    const replayed = macosDrivesBy(async (program, words) => {
      const said = saidTo(told, [program, ...words].join(' '));
      return said === '' ? Promise.reject(new Error('not said')) : said;
    });
    const real = macosDrivesBy(run);
    const drives = await replayed.listDrives([]);
    expect(drives).toEqual(await real.listDrives([]));
    expect(drives.map(({ device }) => device)).toContain('/dev/disk4');
  });

  it('of Windows, and why it says nothing', async () => {
    const storage = JSON.parse(recorded('windows-storage.json'));
    const asked = await diagnoseDrives('1', 'win32', async () => JSON.stringify({ said: storage }));
    const said = saidTo(asked, 'powershell.exe');
    expect(withoutSerial(parseStorage(JSON.parse(said), []))).toEqual(withoutSerial(parseStorage(storage, [])));
    expect(said).not.toContain('AA0001');
    expect(said).toContain('XX0001');
    const silent = await diagnoseDrives('1', 'win32', async () => '{"failed":"Access denied"}');
    expect(silent.answers).toEqual([{ asked: 'powershell.exe', failed: 'Access denied' }]);
  });

  needs({ lsblk: 'util-linux' })('is written to a new file by the command, and never over another', () => {
    const folder = mkdtempSync(join(tmpdir(), 'stickwright diagnose '));
    try {
      const file = join(folder, 'drives.json');
      const { exitCode, stderr } = stickwright(['drives', '--diagnose', file]);
      expect([exitCode, stderr]).toEqual([0, expect.stringContaining('Look through it before you send it')]);
      const text = readFileSync(file, 'utf8');
      expect(JSON.parse(text)).toMatchObject({ schema: 'stickwright/drives-diagnosis/1', platform: 'linux' });
      expect(JSON.parse(text).answers).toHaveLength(2);
      expect(stickwright(['drives', '--diagnose', file]).exitCode).toBe(3);
      expect(readFileSync(file, 'utf8')).toBe(text);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
