import { spawn } from 'node:child_process';
import { readdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { lockStick } from '../../../src/io/volume/lock-stick.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { makeFatImage, makeScratch, type Scratch } from '../../fixtures/volumes/scratch.ts';
import { toolError } from './conformance/stand.ts';

let scratch: Scratch;

beforeEach(() => {
  scratch = makeScratch();
});
afterEach(() => scratch.undo());

/** The one lock file of IDENTITY, with CONTENT as another run would have left it. */
function leaveLock(content: string): string {
  lockStick('stick', 'x', scratch.path)();
  const unlock = lockStick('stick', 'x', scratch.path);
  const [name = ''] = readdirSync(scratch.path);
  unlock();
  writeFileSync(join(scratch.path, name), content);
  return join(scratch.path, name);
}

it('keeps the second run off one stick, names the first, and lets another stick pass', () => {
  const unlock = lockStick('stick', '/media/u/STICK', scratch.path);
  expect(() => lockStick('stick', 'again', scratch.path)).toThrowError(
    expect.objectContaining({
      ...toolError('stick/in-use'),
      message: `process ${process.pid} is using this stick (as /media/u/STICK)`,
    }),
  );
  lockStick('another stick', 'y', scratch.path)();
  unlock();
  lockStick('stick', 'again', scratch.path)();
  expect(readdirSync(scratch.path)).toEqual([]);
});

it('respects a running process and takes over from one that has ended', async () => {
  const other = spawn(process.execPath, ['-e', 'setTimeout(() => {}, 60000)']);
  leaveLock(JSON.stringify({ pid: other.pid, target: 'theirs' }));
  expect(() => lockStick('stick', 'mine', scratch.path)).toThrowError(
    expect.objectContaining({ message: `process ${other.pid} is using this stick (as theirs)` }),
  );
  const ended = new Promise((resolve) => other.once('exit', resolve));
  other.kill('SIGKILL');
  await ended;
  lockStick('stick', 'mine', scratch.path)();
});

it.skipIf(process.platform !== 'linux')('knows a later process with the same number', () => {
  leaveLock(JSON.stringify({ pid: process.pid, started: '1', target: 'long ago' }));
  lockStick('stick', 'mine', scratch.path)();
});

it('is let go once: a lock that another run holds by then stays', () => {
  const unlock = lockStick('stick', 'first', scratch.path);
  unlock();
  const second = lockStick('stick', 'second', scratch.path);
  unlock();
  expect(readdirSync(scratch.path)).toHaveLength(1);
  second();
});

it('takes over what is no lock of ours', () => {
  for (const content of ['', '{', '[]', '{"pid":"x"}', 'null']) {
    leaveLock(content);
    lockStick('stick', 'mine', scratch.path)();
  }
});

it('is held from opening to closing, for one image by any name, and not by reading', async () => {
  const image = await makeFatImage(join(scratch.path, 'stick.img'), 2 ** 21, { kind: 'fat12' });
  const first = await openVolume(image, 'write');
  await expect(openVolume(join(scratch.path, '.', 'stick.img'), 'write')).rejects.toMatchObject(
    toolError('stick/in-use'),
  );
  await (await openVolume(image, 'read')).close();
  await first.close();
  await first.close();
  await (await openVolume(image, 'write')).close();
});
