import { createHash, randomBytes } from 'node:crypto';
import { appendFile, mkdir, open, rename, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { judgePass } from '../../../src/core/checks/archive/check-archive-facts.ts';
import type { PassListener } from '../../../src/io/archive/archive.ts';
import { openArchive } from '../../../src/io/archive/open-archive.ts';
import { buildArchive } from '../../fixtures/archives/build-archive.ts';
import { readBytes, withFolder } from '../../fixtures/archives/read-bytes.ts';

const forever = new AbortController().signal;
const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');
const text = (bytes: number): Buffer => Buffer.alloc(bytes, 'a line of firmware that compresses well\n');

/** Entries small and large, stored and deflated, in the way of a package: several chunks each, some within one. */
const files = [
  { name: 'a/small.txt', data: text(900), method: 8 },
  { name: 'a/large.img', data: Buffer.concat([text(3_000_000), randomBytes(2_500_000)]), method: 8, descriptor: true },
  { name: 'b/middle.img', data: Buffer.concat([randomBytes(200_000), text(200_000)]), method: 8 },
  { name: 'b/stored.img', data: randomBytes(1_300_000), method: 0 },
  { name: 'b/empty', data: Buffer.alloc(0), method: 0 },
  { name: 'c/large.img', data: Buffer.concat([randomBytes(1_500_000), text(1_000_000)]), method: 8 },
  { name: 'c/last.txt', data: text(70), method: 8 },
] as const;
const archiveBytes = buildArchive({ entries: files, comment: Buffer.from('x') });

const withArchive = <T>(use: (path: string, folder: string) => Promise<T>, bytes = archiveBytes): Promise<T> =>
  withFolder(async (folder) => {
    const path = join(folder, 'package.zip');
    await writeFile(path, bytes);
    return await use(path, folder);
  });

describe('one pass over an archive', { tags: ['archive-read-once'] }, () => {
  it('lets whoever needs bytes for longer keep a slice of them', async () => {
    await withArchive(async (path) => {
      const archive = await openArchive(path);
      const shared: string[] = [];
      const keep = (of: string, chunk: Uint8Array): void => {
        if (chunk.slice().buffer === chunk.buffer) shared.push(of);
      };
      let heard = 0;
      const raw = (chunk: Uint8Array): void => keep('the file', chunk);
      const entryData: PassListener['entryData'] = ({ name }, chunk) => {
        heard += chunk.byteLength;
        keep(name, chunk);
      };
      await archive.readThrough({ raw, entryData }, forever);
      await archive.close();
      expect(heard).toBe(files.reduce((sum, { data }) => sum + data.length, 0));
      expect(shared).toEqual([]);
    });
  });

  it('hands on every byte of the file and of each entry, in order, with their digests', async () => {
    await withArchive(async (path) => {
      const archive = await openArchive(path);
      const raw: Buffer[] = [];
      const events: string[] = [];
      let parts: Buffer[] = [];
      const heard = new Map<string, Buffer>();
      const listener: PassListener = {
        raw: (chunk) => void raw.push(Buffer.from(chunk)),
        entryStart: ({ name }) => {
          events.push(`start ${name}`);
          parts = [];
        },
        entryData: async (_, chunk) => {
          await new Promise((resolve) => setImmediate(resolve));
          parts.push(Buffer.from(chunk));
        },
        entryEnd: ({ name }, reading, sound) => {
          events.push(`end ${name} ${sound}`);
          heard.set(name, Buffer.concat(parts));
          expect(reading.sha256).toBe(sha256(Buffer.concat(parts)));
        },
      };
      const { seen, findings } = judgePass();
      const reading = await archive.readThrough({ ...listener, seen }, forever, { digests: ['sha512', 'sha1', 'md5'] });
      await archive.close();
      expect(findings()).toEqual([]);
      expect(Buffer.concat(raw).equals(archiveBytes)).toBe(true);
      expect(events).toEqual(files.flatMap(({ name }) => [`start ${name}`, `end ${name} true`]));
      for (const { name, data } of files) expect(heard.get(name)?.equals(data)).toBe(true);
      expect(reading.entries.map(({ name, sha256 }) => [name, sha256])).toEqual(
        files.map(({ name, data }) => [name, sha256(data)]),
      );
      for (const name of ['sha256', 'sha512', 'sha1', 'md5'] as const) {
        expect(reading.digests[name]).toBe(createHash(name).update(archiveBytes).digest('hex'));
      }
    });
  });

  it('computes weak digests only when asked', async () => {
    const { reading } = await readBytes(archiveBytes);
    expect(reading.digests).toMatchObject({ sha1: undefined, md5: undefined, sha512: undefined });
  });

  it('can be done twice', async () => {
    await withArchive(async (path) => {
      const archive = await openArchive(path);
      const first = await archive.readThrough({}, forever);
      expect(await archive.readThrough({}, forever)).toEqual(first);
      await archive.close();
    });
  });

  it('goes on past a damaged entry and names it', async () => {
    const bytes = Buffer.from(archiveBytes);
    const at = bytes.indexOf('b/middle.img') + 12 + 1000;
    bytes[at] = (bytes[at] ?? 0) ^ 0xff;
    const { stops, findings, heard } = await readBytes(bytes);
    expect(stops.length).toBe(1);
    expect(findings.every(({ subject }) => subject === 'b/middle.img')).toBe(true);
    expect(heard.size).toBe(files.length - 1);
  });

  it('gives raw bytes and digests where the file is no zip', async () => {
    const bytes = randomBytes(2_500_000);
    const { reading, facts, stops } = await readBytes(bytes);
    expect(reading).toMatchObject({ bytes: bytes.length, entries: [], digests: { sha256: sha256(bytes) } });
    expect(facts.entries).toEqual([]);
    expect(stops).toEqual(['archive/not-a-zip']);
  });

  it('lists entries in the order of their bytes, whatever order the directory has', async () => {
    const { facts, stops } = await readBytes(buildArchive({ entries: files, reversedDirectory: true }));
    expect(facts.entries.map(({ name }) => name)).toEqual(files.map(({ name }) => name));
    expect(stops).toEqual([]);
  });

  it('tells the same archive by its directory, and another one apart', async () => {
    const one = await readBytes(archiveBytes);
    const same = await readBytes(archiveBytes, 'other name.zip');
    const other = await readBytes(buildArchive({ entries: files.slice(1), comment: Buffer.from('x') }));
    expect(same.facts.directorySha256).toBe(one.facts.directorySha256);
    expect(other.facts.directorySha256).not.toBe(one.facts.directorySha256);
  });
});

describe('a pass that cannot end', () => {
  const failing: readonly (readonly [string, PassListener])[] = [
    ['raw', { raw: () => Promise.reject(new Error('enough')) }],
    ['entryStart', { entryStart: () => Promise.reject(new Error('enough')) }],
    [
      'entryData of a large entry',
      { entryData: ({ name }) => (name === 'a/large.img' ? Promise.reject(new Error('enough')) : undefined) },
    ],
    [
      'entryData of the last large entry',
      { entryData: ({ name }) => (name === 'c/large.img' ? Promise.reject(new Error('enough')) : undefined) },
    ],
    [
      'entryEnd',
      { entryEnd: ({ name }) => (name === 'b/middle.img' ? Promise.reject(new Error('enough')) : undefined) },
    ],
  ];
  it.each(failing)("lets a listener's throw through: %s", async (_, listener) => {
    await withArchive(async (path) => {
      const archive = await openArchive(path);
      await expect(archive.readThrough(listener, forever)).rejects.toThrow('enough');
      await archive.close();
    });
  });

  it.each([1, 2, 4, 5])('stops when told to, after %i chunks', async (chunks) => {
    await withArchive(async (path) => {
      const archive = await openArchive(path);
      const stop = new AbortController();
      let heard = 0;
      const raw = (): void => {
        heard += 1;
        if (heard === chunks) stop.abort(new Error('told to'));
      };
      await expect(archive.readThrough({ raw }, stop.signal)).rejects.toThrow('told to');
      expect(heard).toBe(chunks);
      await archive.close();
    });
  });

  const changes: readonly (readonly [string, (path: string, folder: string) => Promise<void>])[] = [
    ['grows', (path) => appendFile(path, 'more')],
    [
      'is cut',
      async (path) => {
        const file = await open(path, 'r+');
        await file.truncate(1_200_000);
        await file.close();
      },
    ],
    [
      'is written in place',
      async (path) => {
        const file = await open(path, 'r+');
        await file.write(Buffer.alloc(9), 0, 9, 5000);
        await file.close();
      },
    ],
    [
      'is replaced',
      async (path, folder) => {
        await writeFile(join(folder, 'new.zip'), archiveBytes);
        await rename(join(folder, 'new.zip'), path);
      },
    ],
  ];
  it.each(changes)('says so where the file %s while it is read', async (_, change) => {
    await withArchive(async (path, folder) => {
      const archive = await openArchive(path);
      let changed: Promise<void> | undefined;
      const raw = async (): Promise<void> => {
        changed ??= change(path, folder);
        await changed;
      };
      await expect(archive.readThrough({ raw }, forever)).rejects.toMatchObject({ code: 'file/changed-while-read' });
      await archive.close();
    });
  });

  it('names what cannot be opened', async () => {
    await withFolder(async (folder) => {
      await expect(openArchive(join(folder, 'none.zip'))).rejects.toMatchObject({ code: 'file/not-found' });
      await mkdir(join(folder, 'a.zip'));
      await expect(openArchive(join(folder, 'a.zip'))).rejects.toMatchObject({ code: 'file/unreadable' });
    });
  });
});
