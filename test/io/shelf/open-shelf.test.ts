import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import type { Family } from '../../../src/core/model/family.ts';
import { openShelf } from '../../../src/io/shelf/open-shelf.ts';
import type { Shelf } from '../../../src/io/shelf/shelf.ts';
import { findShelfPlace } from '../../../src/io/shelf/shelf-folder.ts';
import { sampleFamilies } from '../../core/label/families.ts';
import { sha256 } from '../../fixtures/desk.ts';
import { addPackages, idle, makePackage, openTestShelf } from '../../fixtures/shelf/desk.ts';

const root = mkdtempSync(join(tmpdir(), 'stickwright shelf ü-'));
afterAll(() => rmSync(root, { recursive: true, force: true }));

let families: readonly Family[];
let archive: string;
let folder: string;
let shelf: Shelf;
let count = 0;

beforeAll(async () => {
  families = await sampleFamilies();
  archive = await makePackage(root, 'reed.746_5B_second_K2.zip');
});
beforeEach(async () => {
  folder = join(root, `case ${++count}`);
  mkdirSync(folder);
  shelf = await openTestShelf(folder);
});

const only = async () => {
  const [one, ...others] = (await shelf.list()).packages;
  if (one === undefined || others.length > 0) throw new Error('not just one package');
  return one;
};

describe('where the shelf is', () => {
  it("as named, else by the environment, else the user's own", () => {
    const environment = { STICKWRIGHT_SHELF: '/srv/desk' };
    expect(findShelfPlace('x', environment)).toEqual({ folder: join(process.cwd(), 'x'), from: 'named' });
    expect(findShelfPlace(undefined, environment)).toMatchObject({ from: 'environment' });
    expect(findShelfPlace(undefined, { STICKWRIGHT_SHELF: '' })).toMatchObject({ from: 'user' });
  });

  it('a missing named one is not made by reading, nor below a folder that is not there', async () => {
    const missing = { folder: join(folder, 'not there'), from: 'named' as const };
    await expect(openShelf(missing, { make: false })).rejects.toMatchObject({ code: 'shelf/not-found' });
    const share = { folder: join(folder, 'share', 'shelf'), from: 'environment' as const };
    await expect(openShelf(share, { make: true })).rejects.toMatchObject({ code: 'shelf/not-found' });
    expect(readdirSync(folder)).toEqual(['shelf']);
  });

  it("the user's own is empty until something is added, and made then with all folders above", async () => {
    const place = { folder: join(folder, 'data', 'stickwright', 'shelf'), from: 'user' as const };
    const { shelf: empty } = await openShelf(place, { make: false });
    expect(await empty.list()).toEqual({ packages: [], damaged: [] });
    expect(existsSync(place.folder)).toBe(false);
    expect((await openShelf(place, { make: true })).made).toBe(true);
    expect((await openShelf(place, { make: true })).made).toBe(false);
  });

  it('a folder with other things, a file, and a shelf of a later version are refused and left as they are', async () => {
    const documents = join(folder, 'documents');
    mkdirSync(documents);
    writeFileSync(join(documents, 'letter.txt'), 'mine');
    const later = join(folder, 'later');
    mkdirSync(later);
    writeFileSync(join(later, 'shelf.json'), '{"schema":"stickwright/shelf/2"}');
    for (const path of [documents, later, join(documents, 'letter.txt')]) {
      const opening = openShelf({ folder: path, from: 'named' }, { make: true });
      await expect(opening).rejects.toMatchObject({ code: 'shelf/refused' });
    }
    expect(readdirSync(documents)).toEqual(['letter.txt']);
    expect(readdirSync(later)).toEqual(['shelf.json']);
  });
});

describe('a package on the shelf', () => {
  it('is the file itself, under its own name, found by its SHA-256', async () => {
    await addPackages(shelf, [archive], families);
    const { id, path, record } = await only();
    expect(readFileSync(path)).toEqual(readFileSync(archive));
    expect(record.sha256).toBe(sha256(readFileSync(archive)));
    expect(id.startsWith(record.sha256)).toBe(true);
    expect(readdirSync(join(shelf.place, 'incoming'))).toEqual([]);
  });

  it('vanishes with its record, and nothing else does', async () => {
    const other = await makePackage(folder, 'reed.702_8S_third_home.zip', 5);
    await addPackages(shelf, [archive, other], families);
    const { packages } = await shelf.list();
    const [first, second] = packages;
    expect(await shelf.remove(first?.id ?? '')).toBe(true);
    expect(await shelf.remove(first?.id ?? '')).toBe(false);
    expect((await shelf.list()).packages).toEqual([second]);
    expect(readdirSync(join(shelf.place, 'removed'))).toEqual([]);
    expect(existsSync(archive)).toBe(true);
  });

  it('is copied out under its own name, compared, and never over another file', async () => {
    await addPackages(shelf, [archive], families);
    const one = await only();
    const out = join(folder, 'out');
    mkdirSync(out);
    const result = await shelf.export(one, out, idle.signal);
    expect(result).toEqual({ to: join(out, one.record.name), state: 'copied' });
    expect(readFileSync(result.to)).toEqual(readFileSync(archive));
    expect((await shelf.export(one, out, idle.signal)).state).toBe('there');
    writeFileSync(result.to, 'mine');
    expect((await shelf.export(one, out, idle.signal)).state).toBe('taken');
    expect(readFileSync(result.to, 'utf8')).toBe('mine');
    expect(readdirSync(out)).toEqual([one.record.name]);
  });

  it('that rotted is not copied out, and leaves nothing there', async () => {
    await addPackages(shelf, [archive], families);
    const one = await only();
    flipByte(one.path, 4_000);
    const out = join(folder, 'out');
    mkdirSync(out);
    await expect(shelf.export(one, out, idle.signal)).rejects.toMatchObject({ code: 'shelf/content-changed' });
    expect(readdirSync(out)).toEqual([]);
  });
});

describe('what is not whole', () => {
  it('is listed as damaged: cut, changed, moved, missing and later records', async () => {
    await addPackages(shelf, [archive], families);
    const { id, record } = await only();
    const packages = join(shelf.place, 'packages');
    const text = readFileSync(join(packages, id, 'record.json'), 'utf8');
    const spoil = (tag: string, content: string | undefined, sha = record.sha256): string => {
      const folder = join(packages, `${sha}-${tag.repeat(12)}`);
      cpSync(join(packages, id), folder, { recursive: true });
      if (content === undefined) rmSync(join(folder, 'record.json'));
      else writeFileSync(join(folder, 'record.json'), content);
      return folder;
    };
    spoil('1', text.slice(0, 300));
    spoil('2', text.replace('"bytes": ', '"bytes": 1'));
    spoil('3', text, 'f'.repeat(64));
    spoil('4', undefined);
    spoil('5', text.replace('shelf-record/1', 'shelf-record/7'));
    const listing = await shelf.list();
    expect(listing.packages).toHaveLength(1);
    expect(listing.damaged.map(({ problem, newer }) => newer ?? problem.replace(/;.*|: .*/, '')).toSorted()).toEqual([
      'it is missing',
      'it is not JSON',
      'it is the record of another package',
      'its own SHA-256 does not match',
      'stickwright/shelf-record/7',
    ]);
    expect(new Set(listing.damaged.flatMap(({ files }) => files))).toEqual(new Set([record.name]));
  });

  it("and what a desk that was cut off left is nobody's package; after a day it is cleared away", async () => {
    const incoming = await shelf.beginAdd('reed.702_8S_third_home.zip');
    await incoming.listener.raw?.(Buffer.alloc(100));
    expect(await shelf.list()).toEqual({ packages: [], damaged: [] });
    const { unfinished } = await shelf.leftovers();
    expect(unfinished).toMatchObject([{ bytes: 100 }]);
    await addPackages(shelf, [archive], families);
    expect((await shelf.leftovers()).unfinished).toHaveLength(1);
    const left = join(shelf.place, unfinished[0]?.name ?? '');
    const longAgo = new Date(Date.now() - 25 * 3_600_000);
    utimesSync(join(left, 'reed.702_8S_third_home.zip'), longAgo, longAgo);
    utimesSync(left, longAgo, longAgo);
    await (await shelf.beginAdd('reed.703_8S_third_home.zip')).discard();
    expect((await shelf.leftovers()).unfinished).toEqual([]);
    expect(existsSync(dirname(left))).toBe(true);
    await incoming.discard();
  });

  it('is not published where the bytes are not what the record says', async () => {
    await addPackages(shelf, [archive], families);
    const { record } = await only();
    const incoming = await shelf.beginAdd(record.name);
    await incoming.listener.raw?.(Buffer.from('something else'));
    await expect(incoming.publish(record)).rejects.toMatchObject({ code: 'shelf/write-failed' });
    await incoming.discard();
    expect((await shelf.list()).packages).toHaveLength(1);
    expect(readdirSync(join(shelf.place, 'incoming'))).toEqual([]);
  });
});

function flipByte(path: string, at: number): void {
  const bytes = readFileSync(path);
  bytes[at] = (bytes[at] ?? 0) ^ 1;
  writeFileSync(path, bytes);
}
