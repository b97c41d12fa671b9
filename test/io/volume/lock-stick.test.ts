import { spawn } from 'node:child_process';
import {
  chmodSync,
  lchownSync,
  lstatSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { uptime } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { identifyStick } from '../../../src/io/volume/identify-stick.ts';
import { lockByFile } from '../../../src/io/volume/lock-by-file.ts';
import { lockStick } from '../../../src/io/volume/lock-stick.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { makeArchive, noise, packageName, panelLabel } from '../../fixtures/desk.ts';
import { attachLoop, canMount } from '../../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, type Scratch } from '../../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../../outside/needs.ts';
import { toolError } from './conformance/stand.ts';

let scratch: Scratch;
beforeEach(() => {
  scratch = makeScratch();
});
afterEach(() => scratch.undo());

const nobody = 65_534;
const missing = canMount
  ? missingPrograms({ setpriv: 'util-linux', losetup: 'mount' })
  : 'the right to be another user';
const itAsAnother = missing === '' ? needs({}) : itWithout(missing);

/**
 * Another run, of another account where one is named, whose temporary folder does not exist. It may read what root may.
 */
function ask(words: readonly string[], uid?: number): Promise<{ status: number | null; said: string }> {
  const command = [process.execPath, 'bin/stickwright.js', ...words];
  const user = ['setpriv', `--reuid=${uid}`, `--regid=${uid}`, '--clear-groups'];
  const rights = ['--inh-caps=+dac_read_search', '--ambient-caps=+dac_read_search'];
  const [program = '', ...args] = uid === undefined ? command : [...user, ...rights, ...command];
  const child = spawn(program, args, {
    env: { ...process.env, TMPDIR: '/nowhere/at/all', STICKWRIGHT_FAMILIES: 'samples/families', NO_COLOR: '1' },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (text) => (said += String(text)));
  return new Promise((resolve) =>
    child.once('close', (status) => resolve({ status, said: said.replace(/\s+/g, ' ') })),
  );
}

const makeImage = () => makeFatImage(join(scratch.path, 'stick.img'), 2 ** 26, { kind: 'fat32', partitioned: true });
const identityOf = (image: string) => identifyStick('image', image, undefined, undefined);

it('keeps a second write off one stick, names the first, and lets another stick pass', async () => {
  const unlock = await lockStick('stick', '/media/u/STICK');
  await expect(lockStick('stick', 'again')).rejects.toMatchObject({
    ...toolError('stick/in-use'),
    message: `process ${process.pid} is using this stick (as again)`,
  });
  await (await lockStick('another stick', 'y'))();
  await unlock();
  const second = await lockStick('stick', 'again');
  await unlock(); // is let go once: what another has by then stays
  await expect(lockStick('stick', 'third')).rejects.toMatchObject(toolError('stick/in-use'));
  await second();
});

it('is held from opening to closing, for one image by any name; this run reads what it writes', async () => {
  const image = await makeImage();
  const first = await openVolume(image, 'write');
  await expect(openVolume(join(scratch.path, '.', 'stick.img'), 'write')).rejects.toMatchObject(
    toolError('stick/in-use'),
  );
  await (await openVolume(image, 'read')).close();
  await expect(openVolume(image, 'write')).rejects.toMatchObject(toolError('stick/in-use'));
  await first.close();
  await first.close();
  await (await openVolume(image, 'write')).close();
});

it('is seen by a run with another temporary folder, which writes nothing for it', {
  tags: ['nobody-else'],
}, async () => {
  const image = await makeImage();
  const before = readFileSync(image);
  const unlock = await lockStick(await identityOf(image), image);
  for (const words of [
    ['verify', image],
    ['verify', image, '--returned'],
    ['format', image, '--for', 'in-os', '--yes'],
  ]) {
    const { status, said } = await ask(words);
    expect(said, words.join(' ')).toContain(`Process ${process.pid} is using this stick (as ${image})`);
    expect(status).toBe(3);
  }
  await unlock();
  expect((await ask(['verify', image])).status).toBe(1); // never prepared
  expect(readFileSync(image).equals(before)).toBe(true);
  expect(readdirSync(scratch.path)).toEqual(['stick.img']);
});

itAsAnother('is seen by another account, and both ways', { tags: ['nobody-else'] }, async () => {
  const image = await makeImage();
  const unlock = await lockStick(await identityOf(image), image);
  const { status, said } = await ask(['verify', image], nobody);
  expect(said).toContain(`Process ${process.pid} is using this stick`);
  expect(status).toBe(3);
  await unlock();
  expect((await ask(['verify', image], nobody)).status).toBe(1);
});

itAsAnother('is one for an image and the loop device that shows it', { tags: ['nobody-else'] }, async () => {
  const image = await makeImage();
  const drive = attachLoop(scratch, image);
  const volume = await openVolume(drive, 'read');
  const { status, said } = await ask(['verify', image]);
  expect(said).toContain(`Process ${process.pid} is using this stick (as ${drive})`);
  expect(status).toBe(3);
  await volume.close();
});

it('ends with its process, also one that is killed', { tags: ['work-goes-on'] }, async () => {
  const image = await makeImage();
  const tree = { 'sedge_boot.pkg': noise(1, 70_000), 'images/system.img': noise(2, 30 * 2 ** 20) };
  const archive = await makeArchive(scratch.path, tree, packageName);
  const words = [
    'prepare',
    archive,
    '--mode',
    'recovery',
    '--label',
    panelLabel,
    '--running',
    'reed.746',
    '--stick',
    image,
    '--yes',
  ];
  const child = spawn(process.execPath, ['bin/stickwright.js', ...words], {
    env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families' },
    stdio: 'ignore',
  });
  const identity = await identityOf(image);
  const ended = new Promise((resolve) => child.once('exit', resolve));
  let holder = '';
  while (holder === '' && child.exitCode === null) {
    const unlock = await lockStick(identity, 'mine').catch((error: Error) => {
      holder = error.message;
    });
    await unlock?.();
    await wait(5);
  }
  child.kill('SIGKILL');
  await ended;
  expect(holder).toBe(`process ${child.pid} is using this stick (as ${image})`);
  await (await lockStick(identity, 'mine'))();
});

/** For systems without names that end with their process; files are looked at here as they would be there. */
const byFile = (folder: string) =>
  lockByFile('stickwright-0123', { pid: process.pid, target: '/media/u/STICK' }, folder);
const fileOf = (pid: number): string => join(scratch.path, `stickwright-0123.${pid}.00112233aabb`);

it('by file: one holder, told, and a process that has ended counts for nothing', async () => {
  chmodSync(scratch.path, 0o1777);
  const unlock = await byFile(scratch.path);
  await expect(byFile(scratch.path)).rejects.toMatchObject({
    ...toolError('stick/in-use'),
    message: `process ${process.pid} is using this stick (as /media/u/STICK)`,
  });
  await unlock();
  const other = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60000)']);
  writeFileSync(fileOf(other.pid as number), JSON.stringify({ pid: other.pid, target: 'theirs' }));
  await expect(byFile(scratch.path)).rejects.toMatchObject({
    message: `process ${other.pid} is using this stick (as theirs)`,
  });
  const ended = new Promise((resolve) => other.once('exit', resolve));
  other.kill('SIGKILL');
  await ended;
  await (await byFile(scratch.path))();
});

it('by file: a process that got the number of an ended holder counts for nothing', async () => {
  const later = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60000)']);
  const held = (since: number): void =>
    writeFileSync(fileOf(later.pid as number), JSON.stringify({ pid: later.pid, target: 'theirs', uptime: since }));
  try {
    held(uptime() - 3600); // an hour before this process began
    await (await byFile(scratch.path))();
    expect(readdirSync(scratch.path)).toEqual([]);
    held(uptime() + 3600); // before the computer was started anew
    await (await byFile(scratch.path))();
    held(uptime());
    await expect(byFile(scratch.path)).rejects.toMatchObject(toolError('stick/in-use'));
  } finally {
    later.kill('SIGKILL');
  }
});

it('by file: of many at one moment never two are let in', async () => {
  const taken = await Promise.allSettled(Array.from({ length: 8 }, () => byFile(scratch.path)));
  expect(taken.filter(({ status }) => status === 'fulfilled').length).toBeLessThanOrEqual(1);
  for (const one of taken) if (one.status === 'fulfilled') await one.value();
  expect(readdirSync(scratch.path)).toEqual([]);
});

it('by file: a planted link is neither followed nor believed, and what is no lock is passed over', async () => {
  const victim = join(scratch.path, 'victim');
  writeFileSync(victim, JSON.stringify({ pid: process.pid, target: 'x' }));
  symlinkSync(victim, fileOf(process.pid));
  mkdirSync(fileOf(1));
  writeFileSync(join(scratch.path, 'stickwright-0123.lock'), '');
  await (await byFile(scratch.path))();
  expect(lstatSync(victim).isFile()).toBe(true);
});

itAsAnother('by file: what a killed run of another account left needs nobody to remove it', async () => {
  chmodSync(scratch.path, 0o1777);
  const stale = fileOf(2 ** 22 + 1); // above the highest process number of Linux
  writeFileSync(stale, '');
  lchownSync(stale, nobody, nobody);
  await (await byFile(scratch.path))();
});

const itOnLinux = process.platform === 'linux' ? it : itWithout('Linux, whose names these are');
itOnLinux('takes a name that is the same to every Node: one that leaves none of it to be filled up', async () => {
  const names = (): readonly string[] =>
    readFileSync('/proc/net/unix', 'utf8').match(/@stickwright-[0-9a-f]+@*$/gm) ?? [];
  const before = names();
  const unlock = await lockStick('named', '/media/u/NAMED');
  const [name = ''] = names().filter((one) => !before.includes(one));
  await unlock();
  expect(name).toMatch(/^@stickwright-[0-9a-f]{95}$/); // unix(7): sun_path has 108 bytes, the first of them zero
});
