import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { VerifyReport } from '../../src/core/report/reports.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { startStickwright, stickwright } from '../fixtures/command.ts';
import { contentAt, makeArchive, noise, panelLabel, sha256, testPorts } from '../fixtures/desk.ts';
import { canMount, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { seeded } from '../fixtures/volumes/power-cuts.ts';
import { makeFatImage, makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

/** `npm run cuts` kills hundreds; `npm test` a sample. */
const kills = process.env.STICKWRIGHT_CUTS === 'all' ? 300 : 6;

/** Large enough that a run spends most of its time with the stick, and small enough to be run hundreds of times. */
const tree: Readonly<Record<string, Buffer>> = Object.fromEntries([
  ['sedge_boot.pkg', Buffer.alloc(3_000_000, 1)],
  ['images/system.img', Buffer.alloc(24_000_000, 2)],
  ...Array.from({ length: 30 }, (_, at) => [`images/part ${at}.img`, noise(at, 3000 + at)]),
]);

let folder: string;
let archive: string;
let scratch: Scratch;

beforeAll(async () => {
  scratch = makeScratch();
  folder = mkdtempSync(join(tmpdir(), 'stickwright kills-'));
  archive = await makeArchive(folder, tree);
});
afterAll(() => {
  scratch.undo();
  rmSync(folder, { recursive: true, force: true });
});

const folderStops = ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'];
const accepted = folderStops.flatMap((code) => ['--accept', `stick/${code}`, '--because', 'a folder in a test']);

const words = (target: string, ...more: readonly string[]): readonly string[] => [
  ...[
    'prepare',
    archive,
    '--mode',
    'recovery',
    '--label',
    panelLabel,
    '--running',
    'reed.746',
    '--stick',
    target,
    '--yes',
    ...more,
  ],
];

const verify = (target: string): Promise<VerifyReport> =>
  verifyStick({ target, label: undefined, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

const waitForEnd = (child: ReturnType<typeof startStickwright>): Promise<number | string | null> =>
  new Promise((resolve) => child.on('close', (code, signal) => resolve(signal ?? code)));

const textOf = (child: ReturnType<typeof startStickwright>): { text: string } => {
  const all = { text: '' };
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (chunk) => (all.text += String(chunk)));
  return all;
};

/** Resolves when PATH has appeared, or the process has ended. */
async function waitFor(path: string, child: ReturnType<typeof startStickwright>): Promise<void> {
  while (!existsSync(path) && child.exitCode === null && child.signalCode === null) {
    await new Promise((resolve) => setTimeout(resolve, 2));
  }
}

const firmware = Object.fromEntries(Object.entries(tree).map(([path, bytes]) => [path, sha256(bytes)]));

/** Kills run after run of the same command on one stick, at times drawn from SEED. */
async function killAgainAndAgain(target: string, times: number, seed: number): Promise<void> {
  const random = seeded(seed);
  const mine = sha256(readFileSync(join(target, 'holiday.jpg')));
  let workMs = 2500;
  let [killed, finished] = [0, 0];
  for (let round = 0; round < times; round++) {
    const child = startStickwright(words(target, ...accepted));
    const ended = waitForEnd(child);
    await waitFor(join(target, 'SW-PART.TMP'), child);
    const begunMs = performance.now();
    const timer = setTimeout(() => child.kill('SIGKILL'), random() * workMs);
    const answer = await ended;
    clearTimeout(timer);
    const verified = await verify(target);
    const content = await contentAt(target);
    expect(content['holiday.jpg']).toBe(mine);
    for (const [path, wanted] of Object.entries(firmware)) if (path in content) expect(content[path]).toBe(wanted);
    if (answer === 'SIGKILL') killed++;
    // Killed after the last write, the stick is finished all the same; never before.
    if (verified.manifest === undefined) expect(verified.verdict).toBe('not-ready');
    else {
      finished++;
      if (answer !== 'SIGKILL') workMs = Math.max(100, performance.now() - begunMs);
      expect(Object.keys(content)).toEqual(expect.arrayContaining(Object.keys(firmware)));
      for (const name of ['stickwright', ...Object.keys(content).filter((path) => !path.includes('/'))]) {
        if (name !== 'holiday.jpg') rmSync(join(target, name), { recursive: true, force: true });
      }
      for (const path of Object.keys(content)) {
        if (path.endsWith('/')) rmSync(join(target, path), { recursive: true, force: true });
      }
    }
  }
  const { exitCode } = stickwright(words(target, ...accepted));
  expect([0, 4]).toContain(exitCode);
  expect((await verify(target)).verdict).not.toBe('not-ready');
  process.stdout.write(`killed ${killed} of ${times} runs; ${finished} preparations came to their end in between\n`);
  expect(killed).toBeGreaterThan(0);
}

const mounting = canMount ? needs(programsFor.ext4) : itWithout('the right to mount (run as root)');

describe('a run that is killed', { tags: ['never-half-a-file', 'work-goes-on'] }, () => {
  mounting(
    'at random times on a mounted stick never leaves a finished look, and is finished by the same command',
    async () => {
      const point = mountVolume(scratch, 'ext4', 96);
      writeFileSync(join(point, 'holiday.jpg'), noise(99, 5000));
      await killAgainAndAgain(point, kills, 20261125);
    },
    1_800_000,
  );
});

describe('Ctrl-C', { tags: ['work-goes-on'] }, () => {
  const stickOf = (name: string): string => {
    const target = join(folder, name);
    mkdirSync(target);
    return target;
  };

  it('once stops at a clean place, says how to go on, and the stick says not ready', async () => {
    const target = stickOf('once');
    const child = startStickwright(words(target, ...accepted));
    const [said, ended] = [textOf(child), waitForEnd(child)];
    await waitFor(join(target, 'SW-PART.TMP'), child);
    child.kill('SIGINT');
    expect(await ended).toBe(130);
    expect(said.text).toMatch(/Run the same command again/);
    expect(said.text).toMatch(/says not ready/);
    const verified = await verify(target);
    expect([verified.verdict, verified.findings.map(({ code }) => code)]).toEqual(['not-ready', ['verify/unfinished']]);
    expect([0, 4]).toContain(stickwright(words(target, ...accepted)).exitCode);
  });

  it('twice ends at once, and loses nothing', async () => {
    const target = stickOf('twice');
    const child = startStickwright(words(target, ...accepted));
    const ended = waitForEnd(child);
    await waitFor(join(target, 'SW-PART.TMP'), child);
    child.kill('SIGINT');
    child.kill('SIGINT');
    setTimeout(() => child.kill('SIGINT'), 5);
    expect(await ended).toBe(130);
    expect((await verify(target)).verdict).toBe('not-ready');
    expect([0, 4]).toContain(stickwright(words(target, ...accepted)).exitCode);
  });
});

describe('two runs on one stick', () => {
  it('the second is told which process has it, and the first is not disturbed', async () => {
    const target = await makeFatImage(join(folder, 'shared stick.img'), 80 * 2 ** 20, {
      kind: 'fat32',
      clusterBytes: 512,
      partitioned: true,
    });
    const first = startStickwright(words(target));
    const [said, ended] = [textOf(first), waitForEnd(first)];
    while (!/Mode/.test(said.text)) await new Promise((resolve) => setTimeout(resolve, 2));
    first.kill('SIGSTOP');
    const second = stickwright(words(target));
    first.kill('SIGCONT');
    expect(second.exitCode).toBe(3);
    expect(second.stdout + second.stderr).toContain('stick/in-use');
    expect(second.stdout + second.stderr).toContain(`Process ${first.pid}`);
    expect([0, 4]).toContain(await ended);
    expect((await verify(target)).verdict).not.toBe('not-ready');
  });
});
