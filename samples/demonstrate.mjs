// What the demonstrations share: a title, and a command that is shown, run, and ends as it should.
import { spawnSync } from 'node:child_process';

export const title = (text) => process.stdout.write(`\n${'-'.repeat(72)}\n${text}\n${'-'.repeat(72)}\n`);

const quoted = (word) => (/\s/.test(word) ? `"${word}"` : word);

/**
 * Runs the command with its output on the screen; the demonstration goes on only where the exit code is one of
 * EXPECTED.
 */
export function makeShow(environment) {
  const env = { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families', ...environment };
  return (expected, ...args) => {
    process.stdout.write(`\n$ stickwright ${args.map(quoted).join(' ')}\n\n`);
    const { status } = spawnSync(process.execPath, ['bin/stickwright.js', ...args], { stdio: 'inherit', env });
    process.stdout.write(`(exit code ${status})\n`);
    if ([expected].flat().includes(status)) return;
    process.stdout.write(`The demonstration expected exit code ${[expected].flat().join(' or ')}.\n`);
    process.exit(1);
  };
}
