import { describe, expect, it, vi } from 'vitest';
import { placesOfProgram } from '../../../src/io/programs/find-program.ts';
import { hasRaisedRights } from '../../../src/io/programs/raised-rights.ts';

// Lines of whoami /groups /fo csv /nh as Microsoft documents it (columns: group, type, SID, attributes), made up here;
// the names are in the language of the system, the SIDs are not ([MS-DTYP] 2.4.2.4).
const groups = (label: string): string =>
  [
    '"Everyone","Well-known group","S-1-1-0","Mandatory group, Enabled by default, Enabled group"',
    '"BUILTIN\\Administrators","Alias","S-1-5-32-544","Group used for deny only"',
    label,
    '',
  ].join('\r\n');

const onWindows = (said: string) => hasRaisedRights('win32', undefined, async () => said);

describe('the rights of an administrator', { tags: ['nobody-else'] }, () => {
  it.each([
    ['"Mandatory Label\\Low Mandatory Level","Label","S-1-16-4096",""', false],
    ['"Mandatory Label\\Medium Mandatory Level","Label","S-1-16-8192",""', false],
    ['"Mandatory Label\\Medium Plus Mandatory Level","Label","S-1-16-8448",""', false],
    ['"Mandatory Label\\High Mandatory Level","Label","S-1-16-12288",""', true],
    ['"Verbindliche Beschriftung\\Hohe Verbindlichkeitsstufe","Bezeichnung","S-1-16-12288",""', true],
    ['"Mandatory Label\\System Mandatory Level","Label","S-1-16-16384",""', true],
  ])('are told by %s: %s', async (line, raised) => {
    expect(await onWindows(groups(line))).toBe(raised);
  });

  it('are not claimed where nobody tells: without the line, as of Wine, or where whoami fails or hangs', async () => {
    expect(await onWindows(groups(''))).toBeUndefined();
    expect(await onWindows('DESK\\person\r\n')).toBeUndefined();
    expect(await hasRaisedRights('win32', undefined, async () => Promise.reject(new Error('gone')))).toBeUndefined();
    vi.useFakeTimers();
    const hanging = hasRaisedRights('win32', undefined, () => new Promise<string>(() => {}));
    await vi.advanceTimersByTimeAsync(5000);
    expect(await hanging).toBeUndefined();
    vi.useRealTimers();
  });

  it('are those of root elsewhere, and nothing is started to ask', async () => {
    const never = () => Promise.reject(new Error('started'));
    expect(await hasRaisedRights('linux', () => 0, never)).toBe(true);
    expect(await hasRaisedRights('darwin', () => 501, never)).toBe(false);
  });

  it('are asked of the whoami of Windows, by its full path, and of no other', () => {
    expect(placesOfProgram('whoami.exe', 'win32', { SystemRoot: 'C:\\Windows' })).toEqual([
      'C:\\Windows\\System32\\whoami.exe',
    ]);
  });
});
