import { readdirSync, readFileSync } from 'node:fs';
import { expect, it } from 'vitest';

/**
 * Who names, moves or makes files by other means than io/files/durable-files.ts, and why nothing is said to be done too
 * early there.
 */
const exceptions: Readonly<Record<string, string>> = {
  'src/io/files/durable-files.ts': 'it is the one way',
  'src/io/volume/folder/folder-volume.ts': 'files of a stick: its flush brings them to the medium',
  'src/io/volume/lock-by-file.ts': 'a lock is worth nothing after a cut',
  'src/io/files/desk-key.ts': 'flushed while it is written, and its folder after it',
  'src/io/format/claim-medium.ts': 'an empty file whose folder is flushed, and which is flushed when it is filled',
  'src/io/format/make-exfat.ts': 'a file of the moment beside the medium',
  'src/io/files/standard-input.ts': 'what came on standard input, until the process ends',
  'src/io/rounds/write-export.ts': 'a second name where there is such a thing; its folder is flushed',
};

const acts =
  /^(rename|renameSync|writeFile|writeFileSync|appendFile|appendFileSync|createWriteStream|copyFile|copyFileSync|cp|cpSync|link|linkSync)$/;

const takenFrom = (source: string): readonly string[] =>
  [...source.matchAll(/import \{([^}]*)\} from 'node:fs(?:\/promises)?';/g)].flatMap(([, names = '']) =>
    names.split(',').map((name) => name.trim().replace(/ as .*/, '')),
  );

const sources = readdirSync('src', { recursive: true, encoding: 'utf8' })
  .map((path) => `src/${path.replaceAll('\\', '/')}`)
  .filter((path) => /\.(ts|js)$/.test(path))
  .toSorted()
  .map((path) => ({ path, text: readFileSync(path, 'utf8') }));
const acting = sources.filter(({ text }) => takenFrom(text).some((name) => acts.test(name))).map(({ path }) => path);

it('what is kept at the desk is written in one way only, which flushes file and folder', {
  tags: ['ready-is-on-the-medium'],
}, () => {
  expect(acting.filter((path) => exceptions[path] === undefined)).toEqual([]);
  expect(Object.keys(exceptions).filter((path) => !acting.includes(path))).toEqual([]);
});

/** Who takes something away without the patience of `unlessHeld`, and why a scanner on Windows does no harm there. */
const removers: Readonly<Record<string, string>> = {
  'src/io/files/durable-files.ts': 'it is the one way',
  'src/io/volume/folder/folder-volume.ts': 'it asks `unlessHeld` itself, and says what holds up',
  'src/io/volume/folder/folder-writer.ts': 'its own file, at once, where the stick is gone',
  'src/io/volume/lock-by-file.ts': 'Windows has no such locks',
  'src/io/shelf/list-packages.ts': 'what cannot be cleared away stays for the next time',
  'src/io/cards/print-page.ts': "a browser's folder of the moment, tried several times",
  'src/io/format/make-exfat.ts': 'on Linux alone',
  'src/io/files/desk-key.ts': 'two files that were made a moment ago, where making them failed',
  'src/io/files/standard-input.ts': 'at the end of the process, where nobody can wait',
};

it('what is taken away is taken away with patience, since a scanner on Windows may hold it', () => {
  const removes = /^(rm|rmSync|rmdir|rmdirSync|unlink|unlinkSync)$/;
  const found = sources.filter(({ text }) => takenFrom(text).some((name) => removes.test(name)));
  expect(found.map(({ path }) => path)).toEqual(Object.keys(removers).toSorted());
});
