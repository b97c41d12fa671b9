import { execFile } from 'node:child_process';

/** Longer than any of the questions asked here takes, unless a drive hangs. */
const timeoutMs = 20_000;

/** What PROGRAM prints. Rejects where it is missing, fails, or does not answer. */
export function runProgram(program: string, args: readonly string[]): Promise<string> {
  return new Promise((resolve, reject) => {
    const options = { encoding: 'utf8', maxBuffer: 2 ** 25, timeout: timeoutMs, windowsHide: true } as const;
    execFile(program, [...args], options, (error, stdout) => (error === null ? resolve(stdout) : reject(error)));
  });
}
