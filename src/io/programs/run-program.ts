import { type ExecFileException, execFile, execFileSync, spawn } from 'node:child_process';
import { accessSync, constants, statSync } from 'node:fs';
import { isAbsolute } from 'node:path';
import {
  environmentFor,
  environmentForBrowser,
  folderToStartIn,
  placesOfProgram,
  type SystemProgram,
  systemFolders,
} from './find-program.ts';

/** Longer than any of the questions asked here takes, unless a drive hangs. */
const timeoutMs = 20_000;

const { platform, env } = process;

/**
 * What PROGRAM of the system prints; paths among ARGS are absolute. Rejects where it is missing, fails, or does not
 * answer.
 */
export async function runProgram(
  program: SystemProgram,
  args: readonly string[],
  limitMs: number = timeoutMs,
): Promise<string> {
  const path = pathOf(program);
  return new Promise((resolve, reject) => {
    execFile(path, [...args], { ...startOptions(), timeout: limitMs }, (error, stdout) => {
      if (error === null) resolve(stdout);
      else if (isTimeout(error)) reject(new Error(`${program} did not answer within ${limitMs / 1000} s`));
      else reject(error.syscall?.startsWith('spawn') ? notStarted(program, error) : error);
    });
  });
}

/** What changes a drive is not ended in the middle, only because PowerShell begins slowly or the stick is slow. */
const changeMs = 180_000;

/** As `runProgram`, for what changes a drive. */
export const runChange = (program: SystemProgram, args: readonly string[]): Promise<string> =>
  runProgram(program, args, changeMs);

/** As `runProgram`, in this thread. */
export const runProgramAtOnce = (program: SystemProgram, args: readonly string[]): string =>
  execFileSync(pathOf(program), [...args], { ...startOptions(), stdio: ['ignore', 'pipe', 'ignore'] });

function pathOf(program: SystemProgram): string {
  const path = placesOfProgram(program, platform, env).find(isProgramFile);
  if (path !== undefined) return path;
  const folders = systemFolders(platform, env).join(', ') || 'no folder: SystemRoot names none';
  throw new Error(`${program} is not among the programs of this system (looked in ${folders})`);
}

const startOptions = () =>
  ({
    encoding: 'utf8',
    maxBuffer: 2 ** 25,
    timeout: timeoutMs,
    windowsHide: true,
    cwd: folderToStartIn(platform, env),
    env: environmentFor(platform, env),
  }) as const;

/** A rule of the computer's (AppLocker, a policy) refuses it before it begins (ERROR_ACCESS_DISABLED_BY_POLICY). */
const notStarted = (program: string, { code }: ExecFileException): Error =>
  new Error(`${program} is there, but may not be started (${code}): a rule of this computer forbids it`);

/**
 * Why a program failed, in its own words, without the command line that Node puts before them: its last line, which is
 * where they put the reason; of PowerShell the first, which names it, as the last ones say where in a script.
 */
export function reasonOf(error: unknown): string {
  const lines = (error instanceof Error ? error.message : String(error))
    .split('\n')
    .map((line) => line.trim())
    .filter((line) => line !== '' && !line.startsWith('Command failed'));
  const isPowerShell = error instanceof Error && 'cmd' in error && /powershell\.exe/i.test(String(error.cmd));
  return lines.at(isPowerShell ? 0 : -1) ?? 'it gave no reason';
}

/** Ended by us, and not for the length of what it said. */
const isTimeout = ({ killed, code }: ExecFileException): boolean =>
  killed === true && code !== 'ERR_CHILD_PROCESS_STDIO_MAXBUFFER';

export function isProgramFile(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return statSync(path).isFile();
  } catch {
    return false;
  }
}

/**
 * What a browser said on stderr (its end), once it has ended; it may well complain and do its work all the same, so
 * that its exit code says little. BROWSER is an absolute path, and so are paths among WORDS. Rejects with the signal's
 * reason.
 */
export function runBrowser(
  browser: string,
  words: readonly string[],
  { limitMs, signal }: { readonly limitMs: number; readonly signal: AbortSignal | undefined },
): Promise<string> {
  if (!isAbsolute(browser)) return Promise.resolve(`${browser} is not the full path of a program`);
  return new Promise((resolve, reject) => {
    const child = spawn(browser, words, {
      stdio: ['ignore', 'ignore', 'pipe'],
      timeout: limitMs,
      windowsHide: true,
      cwd: folderToStartIn(platform, env),
      env: environmentForBrowser(platform, env),
      ...(signal === undefined ? {} : { signal }),
    });
    let said = '';
    child.stderr.on('data', (chunk: Buffer) => {
      said = (said + chunk.toString('utf8')).slice(-2000);
    });
    child.on('error', (cause: Error) => {
      if (cause.name === 'AbortError') reject(signal?.reason ?? cause);
      else resolve(`${cause.message}`);
    });
    child.on('close', () => resolve(said));
  });
}

/** A program that opens something for the person hands it over and ends, or goes on as what it opened. */
const handOverMs = 1500;

/**
 * Starts a PROGRAM of the system that opens ARGS in what the person uses for that, and leaves it to itself: it outlives
 * this process, and Ctrl-C does not reach it. Rejects where it is missing or fails at once.
 */
export async function startOpener(program: SystemProgram, args: readonly string[]): Promise<void> {
  const path = placesOfProgram(program, platform, env).find(isProgramFile);
  if (path === undefined) throw new Error(`${program} is not among the programs of this system`);
  await new Promise<void>((resolve, reject) => {
    const child = spawn(path, args, {
      stdio: 'ignore',
      detached: true,
      windowsHide: true,
      cwd: folderToStartIn(platform, env),
      env: environmentForBrowser(platform, env),
    });
    const timer = setTimeout(resolve, handOverMs);
    child.on('error', reject);
    child.on('exit', (code) => {
      clearTimeout(timer);
      if (code === 0) resolve();
      else reject(new Error(`${program} ended with ${code}`));
    });
    child.unref();
  });
}
