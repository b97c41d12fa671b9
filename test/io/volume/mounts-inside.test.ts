import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import { stickwright } from '../../fixtures/command.ts';
import { makeArchive, panelLabel, prepare } from '../../fixtures/desk.ts';
import { codesOf, comeBack } from '../../fixtures/returned.ts';
import { canMount, mountVolume, unmount } from '../../fixtures/volumes/mounts.ts';
import { makeScratch, run, type Scratch } from '../../fixtures/volumes/scratch.ts';
import { itWithout, missingPrograms, needs } from '../../outside/needs.ts';
import { patterned, toolError, writeFile } from './conformance/stand.ts';

const missing = canMount
  ? missingPrograms({ 'mkfs.ext4': 'e2fsprogs', losetup: 'mount' })
  : 'the right to mount (run as root)';
const itMounted = missing === '' ? needs({}) : itWithout(missing);

let scratch: Scratch;
let stick: string;
let outside: string;
beforeEach(() => {
  scratch = makeScratch();
  outside = join(scratch.path, 'outside');
  mkdirSync(join(outside, 'deep'), { recursive: true });
  writeFileSync(join(outside, 'theirs.txt'), 'theirs');
  writeFileSync(join(outside, 'deep', 'more.zip'), 'PK theirs');
});
afterEach(() => {
  expect(readdirSync(outside)).toEqual(['deep', 'theirs.txt']);
  expect(readFileSync(join(outside, 'theirs.txt'), 'utf8')).toBe('theirs');
  expect(readFileSync(join(outside, 'deep', 'more.zip'), 'utf8')).toBe('PK theirs');
  scratch.undo();
});

/** The three ways in which something else lies inside a stick: AT is a name on it. */
const ways = {
  'another file system': (at: string): void => {
    mkdirSync(at);
    run('mount', '-t', 'tmpfs', 'other', at);
    scratch.later(() => unmount(at));
    writeFileSync(join(at, 'theirs.txt'), 'theirs');
  },
  'a folder of elsewhere, bound there': (at: string): void => {
    mkdirSync(at);
    run('mount', '--bind', outside, at);
    scratch.later(() => unmount(at));
  },
  'a folder of the stick itself, bound there': (at: string): void => {
    mkdirSync(at);
    mkdirSync(join(stick, 'other folder'), { recursive: true });
    writeFileSync(join(stick, 'other folder', 'theirs.txt'), 'theirs');
    run('mount', '--bind', join(stick, 'other folder'), at);
    scratch.later(() => unmount(at));
  },
  'a single file, bound over a name': (at: string): void => {
    writeFileSync(at, 'hidden');
    run('mount', '--bind', join(outside, 'theirs.txt'), at);
    scratch.later(() => unmount(at));
  },
};

const request = (archivePath: string, leftovers: 'remove' | 'set-aside') => ({
  archivePath,
  mode: 'in-os' as const,
  label: panelLabel,
  targets: [stick],
  leftovers,
  agreed: true,
});

describe.each(Object.entries(ways))('inside a stick %s', (_, mountAt) => {
  beforeEach(() => {
    stick = mountVolume(scratch, 'ext4', 16);
    mkdirSync(join(stick, 'holder'));
  });

  itMounted('is listed by its name alone, and nothing reaches into it', { tags: ['nobody-else'] }, async () => {
    mountAt(join(stick, 'holder', 'inside'));
    const volume = await openVolume(stick, 'write');
    const entries = (await volume.entries()).filter(({ path }) => path.startsWith('holder/'));
    expect(entries).toEqual([expect.objectContaining({ path: 'holder/inside', bytes: 0, isMount: true })]);
    const refused = {
      ...toolError('stick/refused'),
      message: expect.stringContaining('mounted inside the stick, at holder/inside'),
    };
    await writeFile(volume, 'mine.txt', patterned(10));
    await expect(volume.open('holder/inside/theirs.txt', 'cached')).rejects.toMatchObject(refused);
    await expect(volume.open('holder/inside', 'cached')).rejects.toMatchObject(refused);
    await expect(volume.open('holder/inside/theirs.txt', 'fresh')).rejects.toMatchObject(refused);
    await expect(volume.entries('holder/inside')).rejects.toMatchObject(refused);
    await expect(volume.create('holder/inside/new.txt', 3)).rejects.toMatchObject(refused);
    await expect(volume.makeFolder('HOLDER/inside/new')).rejects.toMatchObject({ code: /stick/ });
    await expect(volume.removeFile('holder/inside/theirs.txt')).rejects.toMatchObject(refused);
    await expect(volume.removeFile('holder/inside')).rejects.toMatchObject(refused);
    await expect(volume.removeFolder('holder/inside')).rejects.toMatchObject(refused);
    await expect(volume.rename('holder/inside/theirs.txt', 'got.txt')).rejects.toMatchObject(refused);
    await expect(volume.rename('mine.txt', 'holder/inside/mine.txt')).rejects.toMatchObject(refused);
    await expect(volume.rename('holder', 'moved')).rejects.toMatchObject(refused);
    await volume.close();
  });

  itMounted('stops a preparation, whatever becomes of leftovers', { tags: ['nobodys-files-vanish'] }, async () => {
    const archive = await makeArchive(scratch.path);
    mountAt(join(stick, 'inside'));
    for (const leftovers of ['remove', 'set-aside'] as const) {
      const [answer] = (await prepare(request(archive, leftovers))).report.sticks;
      expect(codesOf(answer?.findings ?? [])).toContain('stick/mount-inside');
      expect(answer).toMatchObject({ state: 'refused', verdict: 'not-ready' });
    }
  });

  itMounted('that appears after the plan stops the work there', { tags: ['only-the-stick'] }, async () => {
    mkdirSync(join(stick, 'old'));
    writeFileSync(join(stick, 'old', 'reed.730_5B_second_K2.zip'), 'PK');
    const volume = await openVolume(stick, 'write');
    const before = await volume.entries();
    mountAt(join(stick, 'old', 'inside'));
    for (const { path, kind } of before.toReversed()) {
      if (!path.startsWith('old')) continue;
      if (kind === 'file') await volume.removeFile(path);
      else await expect(volume.removeFolder(path)).rejects.toMatchObject(toolError('stick/refused'));
    }
    await volume.close();
  });

  itMounted('is a stop in verify and when the stick comes back', { tags: ['nobody-else'] }, async () => {
    const archive = await makeArchive(scratch.path);
    const accept = new Map([['stick/file-system-not-taken', 'a test on ext4']]);
    const [made] = (await prepare({ ...request(archive, 'remove'), accepted: accept })).report.sticks;
    expect(made?.state).toBe('written');
    mountAt(join(stick, 'inside'));
    const verified = stickwright(['verify', stick]);
    expect(verified.stdout.replace(/\s+/g, ' ')).toContain('Something else is mounted inside the stick');
    expect(verified.exitCode).toBe(1);
    const report = await comeBack({ target: stick, clear: true });
    expect(codesOf(report.findings)).toContain('stick/mount-inside');
    expect(codesOf(report.clearing.findings)).toContain('stick/mount-inside');
    expect(report.clearing.state).toBe('refused');
  });
});

describe('a stick', () => {
  itMounted('may itself be a bind mount, or a folder of what is mounted', async () => {
    const mounted = mountVolume(scratch, 'ext4', 16);
    mkdirSync(join(mounted, 'part'));
    const bound = join(scratch.path, 'bound at \\ here');
    mkdirSync(bound);
    run('mount', '--bind', join(mounted, 'part'), bound);
    scratch.later(() => run('umount', bound));
    for (const target of [bound, join(mounted, 'part')]) {
      const volume = await openVolume(target, 'write');
      await volume.makeFolder('folder');
      await writeFile(volume, 'folder/mine.txt', patterned(10));
      expect((await volume.entries()).map(({ path, isMount }) => [path, isMount])).toEqual([
        ['folder', undefined],
        ['folder/mine.txt', undefined],
      ]);
      await volume.removeFile('folder/mine.txt');
      await volume.removeFolder('folder');
      await volume.close();
    }
    // A mount inside a bound stick is seen under the name it has there.
    mkdirSync(join(bound, 'inside'));
    run('mount', '-t', 'tmpfs', 'other', join(bound, 'inside'));
    scratch.later(() => run('umount', join(bound, 'inside')));
    const volume = await openVolume(bound, 'read');
    expect(await volume.entries()).toEqual([{ path: 'inside', kind: 'folder', bytes: 0, isMount: true }]);
    await volume.close();
  });
});
