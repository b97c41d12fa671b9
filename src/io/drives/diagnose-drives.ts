import { readFile } from 'node:fs/promises';
import { homedir, release } from 'node:os';
import { dirname } from 'node:path';
import { syncFolder, writeDurably } from '../files/durable-files.ts';
import type { SystemProgram } from '../programs/find-program.ts';
import { runPowerShell } from '../programs/run-powershell.ts';
import { reasonOf, runProgram } from '../programs/run-program.ts';
import { toStickError } from '../volume/os-error.ts';
import { parseDiskList } from './parse-diskutil.ts';
import { storageScript } from './windows-drives.ts';

/** What a system said when it was asked what is plugged in, as tests replay it. */
export interface Diagnosis {
  readonly schema: 'stickwright/drives-diagnosis/1';
  readonly tool: string;
  readonly platform: NodeJS.Platform;
  readonly release: string;
  /** One of the two is there: what was printed, or why nothing was. */
  readonly answers: readonly { readonly asked: string; readonly said?: string; readonly failed?: string }[];
}

type Run = (program: SystemProgram, args: readonly string[]) => Promise<string>;

/** Asks as the list of drives does, on PLATFORM, and hides what tells one drive or person from another. */
export async function diagnoseDrives(
  tool: string,
  platform: NodeJS.Platform = process.platform,
  run: Run = runProgram,
): Promise<Diagnosis> {
  const answers: Diagnosis['answers'][number][] = [];
  const ask = async (asked: string, work: () => Promise<string>): Promise<string> => {
    const said = await work().catch((error: unknown) => {
      answers.push({ asked, failed: withoutPerson(reasonOf(error)) });
    });
    if (said !== undefined) answers.push({ asked, said: withoutSerials(withoutPerson(said)) });
    return said ?? '';
  };
  const program = (name: SystemProgram, ...args: readonly string[]): Promise<string> =>
    ask([name, ...args].join(' '), () => run(name, args));
  switch (platform) {
    case 'darwin': {
      const list = await program('diskutil', 'list', '-plist');
      for (const disk of list === '' ? [] : parseDiskList(list).names)
        await program('diskutil', 'info', '-plist', disk);
      await program('df', '-P', '/', homedir());
      break;
    }
    case 'win32':
      await ask('powershell.exe', async () => JSON.stringify(await runPowerShell(storageScript, run), null, 2));
      break;
    default:
      await program('lsblk', '--json', '--bytes', '--output-all');
      await ask('/proc/self/mountinfo', () => readFile('/proc/self/mountinfo', 'utf8'));
  }
  return { schema: 'stickwright/drives-diagnosis/1', tool, platform, release: release(), answers };
}

/** Where nothing lies yet. Throws `stick/name-taken` and what the disk says. */
export async function writeNew(file: string, diagnosis: Diagnosis): Promise<void> {
  await writeDurably(file, `${JSON.stringify(diagnosis, null, 2)}\n`).catch((error: unknown) => {
    throw toStickError(error, 'write', file);
  });
  await syncFolder(dirname(file));
}

/** What is called so tells one drive, volume or computer from all others. */
const telling = /serial|uuid|guid|uniqueid|wwn|eui|accesspath/i;

/** A value as long as before, of which the last four letters and digits are left. */
const shortened = (value: string): string => value.replace(/[a-z0-9](?=(?:[^a-z0-9]*[a-z0-9]){4})/gi, 'X');

/** In JSON and in property lists, by the name of the field. */
function withoutSerials(said: string): string {
  const quoted = (text: string): string => JSON.stringify(shortened(JSON.parse(text)));
  return said
    .replaceAll(
      /("([^"]+)":\s*)(\[(?:\s*"(?:[^"\\]|\\.)*",?)*\s*\]|"(?:[^"\\]|\\.)*")/g,
      (whole, before: string, name: string, value: string) =>
        telling.test(name) ? `${before}${value.replaceAll(/"(?:[^"\\]|\\.)*"/g, quoted)}` : whole,
    )
    .replaceAll(/(<key>([^<]*)<\/key>\s*<string>)([^<]*)/g, (whole, before: string, name: string, value: string) =>
      telling.test(name) ? `${before}${shortened(value)}` : whole,
    );
}

/** The name of the person's home folder is mostly that of the person, and sticks are mounted below it. */
function withoutPerson(said: string): string {
  const name = homedir().split(/[\\/]/).at(-1) ?? '';
  if (name === '' || name === 'root') return said;
  const quoted = name.replaceAll(/[.*+?^${}()|[\]\\]/g, '\\$&');
  return said.replaceAll(new RegExp(`(?<=[\\\\/])${quoted}(?=["\\\\/<\\s]|$)`, 'gm'), 'person');
}
