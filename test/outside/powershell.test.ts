import { describe, expect, it } from 'vitest';
import { finderNote } from '../../src/core/manifest/record-files.ts';
import type { Drive } from '../../src/core/model/drive.ts';
import { quotedInShells, quoteWord } from '../../src/core/text/words.ts';
import { storageScript } from '../../src/io/drives/windows-drives.ts';
import { rightsScript } from '../../src/io/files/windows-rights.ts';
import { exfatCommand } from '../../src/io/format/make-exfat.ts';
import { unmountCommands } from '../../src/io/format/unmount-drive.ts';
import { ejectDrive } from '../../src/io/medium/eject-drive.ts';
import { completionScript } from '../../src/io/programs/complete-words.ts';
import { powerShellWords, runOfSystem } from '../../src/io/programs/run-powershell.ts';
import { cmdlets, commonParameters } from '../fixtures/cmdlets.ts';
import { readPowerShell } from '../fixtures/powershell.ts';

// Windows PowerShell does not run here. What it would be asked is judged by people who did not write it: its syntax by
// a grammar of the language, its names by Microsoft's reference. What the commands really do stays reasoned.
const awkward = [
  'K2-second 75/5B',
  "O'Brien",
  'a’; Clear-Disk -Number 0; ’b',
  '‘‚‛',
  '75" wide',
  '“75„',
  '$(Remove-Item x) `n $env:TEMP',
  'Größe 75 € # @{ } ; | & %PATH%',
  '',
  ' two  spaces ',
];

/** As the reader gives typographic quotation marks back. */
const plain = (text: string): string => text.replace(/[‘’‚‛]/g, "'").replace(/[“”„]/g, '"');

const stick = (serial: string): Drive => ({
  device: '\\\\.\\PhysicalDrive3',
  maker: undefined,
  model: undefined,
  serial,
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
      device: 'E:',
      mountPoints: ['E:\\'],
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

const scriptOf = (words: readonly string[] | undefined): string => words?.at(-1) ?? '';
const clearing = (serial: string): string => scriptOf(unmountCommands(stick(serial), 'win32')[0]);
const formatting = (volumeLabel: string): string =>
  scriptOf(
    exfatCommand(stick('').device, { bytes: 16e9, clusterBytes: 131_072, volumeLabel, volumeSerial: 1 }, 'win32'),
  );

async function ejecting(): Promise<string> {
  const scripts: string[] = [];
  await ejectDrive(stick('A1'), async (_, words) => scripts.push(scriptOf(words)).toString(), 'win32');
  return scripts.join('\n');
}

/** What lies in -EncodedCommand when SCRIPT is run. */
async function asRun(script: string): Promise<string> {
  let encoded = '';
  await runOfSystem(
    ...(([program, ...words]) => [program, words] as const)(powerShellWords(script)),
    async (_, words) => {
      encoded = words.at(-1) ?? '';
      return '{"said":null}';
    },
  );
  return Buffer.from(encoded, 'base64').toString('utf16le');
}

/** The lines for PowerShell in the note on a stick. */
function noted(): string {
  const note = finderNote({
    stick: 'T7-K2',
    label: { text: 'K2-second 75/5B', again: false },
    mode: 'recovery',
    archive: { name: 'reed.746_5B_second_K2.zip', build: '746' },
    keepsData: false,
    preparedAt: '2026-09-21T14:13:20Z',
  } as unknown as Parameters<typeof finderNote>[0]);
  return /^ {2}Get-Content[\s\S]*?\}\r\n/m.exec(note)?.[0] ?? '';
}

const scripts: readonly (readonly [string, () => Promise<string> | string])[] = [
  ['the list of drives', () => asRun(storageScript)],
  ['making exFAT', () => asRun(formatting("O'Brien’s"))],
  ['clearing a drive', () => asRun(clearing("O'Brien’s"))],
  ['ejecting', async () => asRun(await ejecting())],
  ['telling the system of a new table', () => asRun('Update-HostStorageCache')],
  ['who may read a key', () => asRun(rightsScript("C:\\Users\\O'Brien’s\\desk.key"))],
  ['the check in the note on a stick', noted],
  ['completion', () => completionScript('powershell')],
  ['how completion is set up', () => 'stickwright complete powershell >> $PROFILE'],
];

describe('the judge of PowerShell', () => {
  it.each(['if ($x) {', "'it's'", 'Get-Disk -Number 3; }', '@{ a = 1', '"$(Get-Disk"', 'foreach ($a in) { }'])(
    'finds fault with %s',
    (broken) => expect(readPowerShell(broken).faults).not.toEqual([]),
  );

  it('sees where a literal ends, and what is evaluated inside', () => {
    expect(readPowerShell(`x 'a”b' "c'd"`).commands[0]?.words).toEqual(['a"b', "c'd"]);
    expect(readPowerShell('x "a $b"').commands[0]?.words).toEqual([undefined]);
    // An apostrophe of any kind ends it (about_Quoting_Rules), and what stands behind is a command.
    expect(readPowerShell(`x 'a’; Clear-Disk -Number 0; ’b'`).commands.map(({ name }) => name)).toContain('Clear-Disk');
  });
});

describe('what PowerShell is asked', () => {
  it.each(scripts)('is PowerShell: %s', { tags: ['nobody-else'] }, async (_, make) => {
    const text = await make();
    const { faults, commands, functions } = readPowerShell(text);
    expect(faults).toEqual([]);
    expect(commands.length).toBeGreaterThan(0);
    // Of the enumerations that are asked for by name, too: "1..10" is a range, and no command.
    for (const { name, parameters } of commands.filter((one) => !/^\d/.test(one.name))) {
      if (['stickwright', '{ }', ...functions].includes(name) || /whoami\.exe/.test(name)) continue;
      expect(Object.keys(cmdlets)).toContain(name);
      for (const parameter of parameters)
        expect([...(cmdlets[name] ?? []), ...commonParameters], `${name} ${parameter}`).toContain(parameter);
    }
  });

  it('uses every name that is looked up', async () => {
    const used = await Promise.all(scripts.map(async ([, make]) => readPowerShell(await make()).commands));
    const names = new Set(used.flat().map(({ name }) => name));
    expect(Object.keys(cmdlets).filter((name) => !names.has(name))).toEqual([]);
  });

  it.each(awkward)('takes %j for a value, whatever stands in it', { tags: ['nobody-else'] }, async (value) => {
    const quiet = (text: string) => readPowerShell(text).commands.map(({ name }) => name);
    for (const make of [clearing, formatting, rightsScript]) {
      const script = await asRun(make(value));
      expect(readPowerShell(script).faults).toEqual([]);
      expect(readPowerShell(script).literals).toContain(plain(value));
      expect(quiet(script)).toEqual(quiet(await asRun(make('x'))));
    }
  });

  it('evaluates nothing that was typed so far when somebody presses Tab', { tags: ['nobody-else'] }, () => {
    expect(completionScript('powershell')).not.toMatch(/Invoke-Expression|\biex\b|InvokeScript|ScriptBlock\]::Create/i);
  });
});

describe('a word for PowerShell', () => {
  const lineFor = (text: string): string =>
    /PowerShell {2}(.*)|PowerShell and cmd:\n {2}(.*)/
      .exec(quotedInShells('stickwright label ', text))
      ?.slice(1)
      .join('') ?? '';

  it.each(awkward)('shown for a label is one literal: %j', (text) => {
    const { faults, commands } = readPowerShell(lineFor(text));
    expect(faults).toEqual([]);
    // A program gets a quotation mark only behind a backslash (about_Parsing, of Windows PowerShell 5.1).
    expect(commands.map(({ name, words }) => [name, ...words])).toEqual([
      ['stickwright', 'label', plain(text.replaceAll('"', '\\"'))],
    ]);
  });

  it.each(awkward)('of a command to copy runs nothing, and is one literal: %j', { tags: ['nobody-else'] }, (text) => {
    const { faults, commands } = readPowerShell(`stickwright label ${quoteWord(text)}`);
    expect(faults).toEqual([]);
    expect(commands.map(({ name, words }) => [name, ...words])).toEqual([['stickwright', 'label', plain(text)]]);
  });
});
