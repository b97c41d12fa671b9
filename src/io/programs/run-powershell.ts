import type { SystemProgram } from './find-program.ts';
import { runProgram, runProgramAtOnce } from './run-program.ts';

type Run = (program: SystemProgram, args: readonly string[]) => Promise<string>;

/** As a person would read it; it is run by `runOfSystem`, which asks the same in a form that survives every setting. */
export const powerShellWords = (script: string): readonly ['powershell.exe', ...string[]] => [
  'powershell.exe',
  '-NoProfile',
  '-NonInteractive',
  '-Command',
  script,
];

/** A program of the system; a script of PowerShell in the form that `runPowerShell` has. */
export async function runOfSystem(
  program: SystemProgram,
  args: readonly string[],
  run: Run = runProgram,
): Promise<string> {
  if (program !== 'powershell.exe') return run(program, args);
  const said = await runPowerShell(args.at(-1) ?? '', run);
  return said === undefined || said === null ? '' : JSON.stringify(said);
}

/**
 * What SCRIPT answers, as JSON has it. Rejects with what failed, in the words of the system, whole, in its language.
 *
 * The answer is one line of ASCII, errors in it too: a restricted PowerShell (constrained language mode) may not set
 * the encoding of its output, and what it writes beside is in the code page of the console. So nothing here calls a
 * method but of a string, and makes no object but a table (about_Language_Modes). A byte order mark is passed over.
 * The script goes in encoded, so that no quoting rule of the command line touches it (about_PowerShell_exe: UTF-16LE,
 * Base64).
 */
export const runPowerShell = async (script: string, run: Run = runProgram): Promise<unknown> =>
  answerIn(await run('powershell.exe', encoded(script)));

/** As `runPowerShell`, in this thread. */
export const runPowerShellAtOnce = (script: string): unknown =>
  answerIn(runProgramAtOnce('powershell.exe', encoded(script)));

const encoded = (script: string): readonly string[] => [
  '-NoProfile',
  '-NonInteractive',
  '-EncodedCommand',
  Buffer.from(around(script), 'utf16le').toString('base64'),
];

function answerIn(printed: string): unknown {
  const line = printed
    .replaceAll('\ufeff', '')
    .split(/\r?\n/)
    .findLast((one) => one.startsWith('{'));
  const answer = line === undefined ? undefined : parse(line);
  if (answer === undefined)
    throw new Error(printed.trim() === '' ? 'PowerShell says nothing' : 'what PowerShell says breaks off');
  if (answer.failed !== undefined) throw new Error(String(answer.failed));
  return answer.said;
}

function parse(line: string): { readonly said?: unknown; readonly failed?: unknown } | undefined {
  try {
    return JSON.parse(line);
  } catch {
    return undefined;
  }
}

const around = (script: string): string => `
$ErrorActionPreference = 'Stop'
$ProgressPreference = 'SilentlyContinue'
try { $answer = @{ said = $(& { ${script} }) } } catch { $answer = @{ failed = "$_" } }
$text = ConvertTo-Json -InputObject $answer -Depth 6 -Compress
while ($text -cmatch '[^\\x00-\\x7e]') { $text = $text.Replace($matches[0], ('\\u{0:x4}' -f [int][char]$matches[0])) }
$text
`;
