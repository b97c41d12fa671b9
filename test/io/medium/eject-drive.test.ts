import { describe, expect, it, test } from 'vitest';
import { ejectTargets } from '../../../src/cli/stick/targets.ts';
import type { Drive } from '../../../src/core/model/drive.ts';
import { ejectDrive } from '../../../src/io/medium/eject-drive.ts';
import type { SeenTarget } from '../../../src/io/volume/look-at-target.ts';

/**
 * There is no stick to pull in a test, and no second operating system: the programs are stood in for by what they
 * answer.
 */
const drive = (device: string, volume: string, mountPoints: readonly string[]): Drive => ({
  device,
  maker: undefined,
  model: undefined,
  serial: undefined,
  port: undefined,
  bytes: 16e9,
  removable: true,
  usb: true,
  holdsSystem: false,
  readOnly: false,
  partitionTable: 'mbr',
  refusedBecause: undefined,
  volumes: [
    {
      device: volume,
      mountPoints,
      fileSystem: 'fat32',
      label: undefined,
      bytes: undefined,
      freeBytes: undefined,
      clusterBytes: undefined,
      sectorBytes: undefined,
      readOnly: false,
    },
  ],
});

function recorder(answers: (line: string) => string | undefined) {
  const lines: string[] = [];
  return {
    lines,
    run: async (program: string, args: readonly string[]): Promise<string> => {
      const line = [program, ...args].join(' ');
      lines.push(line);
      const failure = answers(line);
      if (failure !== undefined) throw new Error(failure);
      return '';
    },
  };
}

describe('ejecting a stick', () => {
  it('on Linux: flushes, unmounts, cuts the power', async () => {
    const { lines, run } = recorder(() => undefined);
    const answer = await ejectDrive(drive('/dev/sdb', '/dev/sdb1', ['/media/stick']), run, 'linux');
    expect(answer).toEqual({ state: 'pull-it-now', poweredOff: true });
    expect(lines).toEqual([
      'sync',
      'udisksctl unmount --no-user-interaction --block-device /dev/sdb1',
      'udisksctl power-off --no-user-interaction --block-device /dev/sdb',
    ]);
  });

  it('on Linux without the desktop service: umount and eject; without those it may still be pulled', async () => {
    const { lines, run } = recorder((line) => (/^(udisksctl|eject)/.test(line) ? 'not found' : undefined));
    const answer = await ejectDrive(drive('/dev/sdb', '/dev/sdb1', ['/media/stick']), run, 'linux');
    expect(answer).toEqual({ state: 'pull-it-now', poweredOff: false });
    expect(lines).toContain('umount /media/stick');
    expect(lines).toContain('eject /dev/sdb');
  });

  it('says why not yet, in the words of the system, and then does not cut the power', async () => {
    const { lines, run } = recorder((line) =>
      line.includes('umount') || line.includes('unmount')
        ? 'Command failed\numount: /media/stick: target is busy.\n'
        : undefined,
    );
    const answer = await ejectDrive(drive('/dev/sdb', '/dev/sdb1', ['/media/stick']), run, 'linux');
    expect(answer).toMatchObject({ state: 'not-yet', reason: 'umount: /media/stick: target is busy.' });
    expect(lines.some((line) => line.includes('power-off'))).toBe(false);
  });

  it('on macOS and Windows: the one command of the system, with nothing foreign in it', async () => {
    const mac = recorder(() => undefined);
    await ejectDrive(drive('/dev/disk4', '/dev/disk4s1', ['/Volumes/STICK']), mac.run, 'darwin');
    expect(mac.lines).toEqual(['sync', 'diskutil eject /dev/disk4']);
    const windows = recorder(() => undefined);
    await ejectDrive(drive('\\\\.\\PhysicalDrive3', "E:'; Remove-Item", ['E:\\']), windows.run, 'win32');
    expect(windows.lines.join('\n')).toContain("ParseName('E:')");
    expect(windows.lines.join('\n')).not.toContain('Remove-Item');
  });
});

it('on Windows, where PowerShell may not do it, says how the person can', async () => {
  // As constrained language mode says it (about_Language_Modes).
  const run = () =>
    Promise.reject(new Error('Cannot create type. Only core types are supported in this language mode.'));
  const answer = await ejectDrive(drive('\\\\.\\PhysicalDrive3', 'E:', ['E:\\']), run, 'win32');
  expect(answer).toMatchObject({
    state: 'not-yet',
    reason: expect.stringContaining('language mode'),
    todo: expect.stringMatching(/icon in the task bar.*Do not pull it before\.$/),
  });
});

describe('a stick that carries what is in use', () => {
  const place = (more: Partial<Drive>): SeenTarget =>
    ({
      target: 'E:',
      kind: 'folder',
      path: '/media/a',
      drive: { ...drive('/dev/sdb', '/dev/sdb1', ['/media/a']), ...more },
    }) as unknown as SeenTarget;
  const ask = async (more: Partial<Drive>) => {
    const look = async () => place(more);
    const eject = async () => ({ state: 'pull-it-now', poweredOff: true }) as const;
    return (await ejectTargets(['E:'], async () => ({ look, eject })))[0]?.state;
  };

  test('is ejected, and the system says whether it can; a drive of the computer is not', {
    tags: ['only-the-stick'],
  }, async () => {
    const tool = { usb: true, removable: true, holds: ['this tool'], refusedBecause: 'it holds this tool' };
    expect(await ask(tool)).toBe('pull-it-now');
    expect(await ask({ ...tool, holdsSystem: true })).toBe('nothing-to-eject');
    expect(await ask({ ...tool, usb: undefined })).toBe('nothing-to-eject');
  });
});
