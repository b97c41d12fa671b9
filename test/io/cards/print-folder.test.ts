import { spawnSync } from 'node:child_process';
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openPrintFolder } from '../../../src/io/cards/print-folder.ts';
import { needs } from '../../outside/needs.ts';

let folder = '';
beforeEach(async () => {
  folder = join(await mkdtemp(join(tmpdir(), 'stickwright-out-')), 'made', 'here');
});
afterEach(() => rm(join(folder, '..', '..'), { recursive: true, force: true }));

const bytes = (text: string) => Buffer.from(text);

describe('a folder for pages to print', () => {
  it('is made, and holds what was put, and nothing half-written', async () => {
    const out = await openPrintFolder(folder);
    await out.put('cards.html', bytes('one'));
    expect(await readFile(join(folder, 'cards.html'), 'utf8')).toBe('one');
    expect((await readdir(folder)).toSorted()).toEqual(['cards.html', 'printed.sha256']);
  });

  it('takes its own earlier print for its own, in a later run too', async () => {
    await (await openPrintFolder(folder)).put('cards.html', bytes('one'));
    const later = await openPrintFolder(folder);
    await later.expectOurs(['cards.html', 'tags.html']);
    await later.put('cards.html', bytes('two'));
    await (await openPrintFolder(folder)).expectOurs(['cards.html']);
  });

  it("refuses somebody else's file, and its own after somebody changed it, and leaves them", async () => {
    const out = await openPrintFolder(folder);
    await writeFile(join(folder, 'cover.html'), 'my own notes');
    await expect(out.expectOurs(['cover.html'])).rejects.toMatchObject({ code: 'file/not-permitted' });
    await out.put('tags.html', bytes('one'));
    await writeFile(join(folder, 'tags.html'), 'one, with a remark');
    await expect(out.expectOurs(['tags.html'])).rejects.toMatchObject({ code: 'file/not-permitted' });
    expect(await out.drop('tags.html')).toBe(false);
    expect(await readFile(join(folder, 'tags.html'), 'utf8')).toBe('one, with a remark');
  });

  it('drops what it printed earlier, and nothing else', async () => {
    const out = await openPrintFolder(folder);
    await out.put('cards.pdf', bytes('old'));
    expect(await out.drop('cards.pdf')).toBe(true);
    expect(await out.drop('cover.pdf')).toBe(false);
    expect(await readdir(folder)).toEqual(['printed.sha256']);
  });

  needs({ sha256sum: 'coreutils' })('leaves a list that sha256sum -c reads', async () => {
    const out = await openPrintFolder(folder);
    await out.put('cards.html', bytes('one'));
    await out.put('cards.html', bytes('two'));
    await out.put('tags.html', bytes('three'));
    const { status, stdout } = spawnSync('sha256sum', ['-c', 'printed.sha256'], { cwd: folder, encoding: 'utf8' });
    expect({ status, stdout }).toEqual({ status: 0, stdout: 'cards.html: OK\ntags.html: OK\n' });
  });
});
