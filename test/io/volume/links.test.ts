import { mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, it } from 'vitest';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import type { Volume } from '../../../src/io/volume/volume.ts';
import { makeScratch, type Scratch } from '../../fixtures/volumes/scratch.ts';
import { pathsOf, patterned, toolError, writeFile } from './conformance/stand.ts';

let scratch: Scratch;
let volume: Volume;
let outside: string;

beforeEach(async () => {
  scratch = makeScratch();
  outside = join(scratch.path, 'outside');
  const stick = join(scratch.path, 'stick');
  mkdirSync(outside);
  mkdirSync(stick);
  writeFileSync(join(outside, 'theirs.txt'), 'theirs');
  symlinkSync(outside, join(stick, 'folder link'));
  symlinkSync(join(outside, 'theirs.txt'), join(stick, 'file link'));
  symlinkSync(join(outside, 'new.txt'), join(stick, 'dangling link'));
  volume = await openVolume(stick, 'write');
});

afterEach(async () => {
  await volume.close();
  expect(readdirSync(outside)).toEqual(['theirs.txt']);
  expect(readFileSync(join(outside, 'theirs.txt'), 'utf8')).toBe('theirs');
  scratch.undo();
});

it('lists links as files and does not look behind them', async () => {
  const entries = await volume.entries();
  expect(entries.map((entry) => [entry.path, entry.kind]).toSorted()).toEqual([
    ['dangling link', 'file'],
    ['file link', 'file'],
    ['folder link', 'file'],
  ]);
});

it('neither reads nor writes through a link', async () => {
  await expect(volume.open('file link', 'cached')).rejects.toMatchObject(toolError('stick/not-as-listed'));
  await expect(volume.open('folder link/theirs.txt', 'fresh')).rejects.toMatchObject(toolError('stick/not-as-listed'));
  const failed = toolError('stick/not-as-listed');
  await expect(volume.create('folder link/new.txt', 3)).rejects.toMatchObject(failed);
  await expect(volume.makeFolder('folder link/new')).rejects.toMatchObject(failed);
  await expect(volume.removeFile('folder link/theirs.txt')).rejects.toMatchObject(failed);
  await expect(volume.rename('folder link/theirs.txt', 'mine.txt')).rejects.toMatchObject(failed);
  await writeFile(volume, 'mine.txt', patterned(10));
  await expect(volume.rename('mine.txt', 'folder link/mine.txt')).rejects.toMatchObject(failed);
});

it('takes a link for a name that exists', async () => {
  const taken = toolError('stick/name-taken');
  await writeFile(volume, 'mine.txt', patterned(10));
  for (const link of ['file link', 'folder link', 'dangling link']) {
    await expect(volume.create(link, 3)).rejects.toMatchObject(taken);
    await expect(volume.makeFolder(link)).rejects.toMatchObject(taken);
    await expect(volume.rename('mine.txt', link)).rejects.toMatchObject(taken);
  }
});

it('removes and moves a link itself', async () => {
  await volume.removeFile('file link');
  await expect(volume.removeFolder('folder link')).rejects.toMatchObject(toolError('stick/not-as-listed'));
  await volume.rename('folder link', 'moved link');
  expect((await pathsOf(volume)).toSorted()).toEqual(['dangling link', 'moved link']);
});
