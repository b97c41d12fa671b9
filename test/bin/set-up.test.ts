import { spawn, spawnSync } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

// Two commands that set the project up at once, as in two terminals. The build is a stand-in of one second that writes
// down when it begins and ends: the real one takes ten, and what is asked here is who runs it.
const build = `
import { appendFileSync, mkdirSync, writeFileSync } from 'node:fs';
appendFileSync('log', 'begins\\n');
Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 1000);
mkdirSync('dist/cli', { recursive: true });
writeFileSync('dist/cli/main.js', '');
appendFileSync('log', 'ends\\n');
`;

describe('set-up', () => {
  let project: string;
  beforeEach(() => {
    project = mkdtempSync(join(tmpdir(), 'stickwright set-up-'));
    for (const folder of ['bin', 'src', 'node_modules']) mkdirSync(join(project, folder));
    cpSync('bin/set-up.mjs', join(project, 'bin/set-up.mjs'));
    writeFileSync(join(project, 'bin/build.mjs'), build);
    for (const file of ['package-lock.json', 'node_modules/.package-lock.json'])
      writeFileSync(join(project, file), '{}');
  });
  afterEach(() => rmSync(project, { recursive: true, force: true }));

  const log = () => readFileSync(join(project, 'log'), 'utf8').trim().split('\n');
  const setUp = () =>
    new Promise<string>((done, failed) => {
      const child = spawn(process.execPath, ['bin/set-up.mjs'], { cwd: project });
      let said = '';
      child.stderr.on('data', (chunk) => {
        said += String(chunk);
      });
      child.once('exit', (code) => (code === 0 ? done(said) : failed(new Error(`${code} ${said}`))));
    });

  it('is done once by two commands; the second waits, and says so', async () => {
    const said = (await Promise.all([setUp(), setUp()])).toSorted();
    expect(said).toEqual(['Another command installs or builds here. Waiting for it …\n', 'Building …\n']);
    expect(log()).toEqual(['begins', 'ends']);
    expect(existsSync(join(project, '.set-up.lock'))).toBe(false);
  });

  it('is not held up by one that was killed in the middle', async () => {
    const { pid } = spawnSync(process.execPath, ['-e', '']);
    writeFileSync(join(project, '.set-up.lock'), String(pid));
    expect(await setUp()).toContain('Building …');
    expect(log()).toEqual(['begins', 'ends']);
  });

  it('lets the next command go on where the build failed', async () => {
    writeFileSync(join(project, 'bin/build.mjs'), 'process.exit(1)');
    await expect(setUp()).rejects.toThrow('1 Building …');
    writeFileSync(join(project, 'bin/build.mjs'), build);
    expect(await setUp()).toBe('Building …\n');
  });
});
