import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect } from 'vitest';
import { makeArchive } from '../fixtures/desk.ts';
import { run } from '../fixtures/volumes/scratch.ts';
import { needs } from '../outside/needs.ts';

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright pool-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Opening a pipe that nobody writes keeps a thread of the pool waiting, as a stick does that does not answer. */
const blocked = 14;

needs({ mkfifo: 'coreutils' })(
  'fourteen calls to sticks that do not answer leave threads for the rest of the work',
  async () => {
    const archive = await makeArchive(folder);
    const pipes = Array.from({ length: blocked }, (_, at) => join(folder, `pipe ${at}`));
    run('mkfifo', ...pipes);
    const preload = join(folder, 'preload.cjs');
    writeFileSync(
      preload,
      `setImmediate(() => { for (const pipe of ${JSON.stringify(pipes)}) require('node:fs').open(pipe, 'r', () => {}); });`,
    );
    const child = spawn(process.execPath, ['--require', preload, 'bin/stickwright.js', 'inspect', archive], {
      stdio: ['ignore', 'pipe', 'inherit'],
      env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families' },
    });
    const answered = await new Promise<boolean>((resolve) => {
      let said = '';
      child.stdout.on('data', (text) => {
        said += String(text);
        if (said.includes('SHA-256')) resolve(true);
      });
      child.on('close', () => resolve(false));
      setTimeout(() => resolve(false), 30_000);
    });
    child.kill('SIGKILL'); // it would wait for the pipes
    expect(answered).toBe(true);
  },
);
