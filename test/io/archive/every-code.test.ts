import { open, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { constants, deflateRawSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { mostCentralRecords } from '../../../src/core/archive-format/read-central-directory.ts';
import { compareDirectoryReaders } from '../../../src/core/archive-format/reading-facts.ts';
import { checkArchiveFacts, checkDirectoryFacts } from '../../../src/core/checks/archive/check-archive-facts.ts';
import { checkLength } from '../../../src/core/checks/archive/check-directory.ts';
import {
  checkHashLists,
  checkPublishedHashes,
  type HashClaim,
} from '../../../src/core/checks/archive/check-published-hashes.ts';
import { checkObjection, checkReaders } from '../../../src/core/checks/archive/check-without-directory.ts';
import { namesOfFamilies } from '../../../src/core/contents/wanted-tree.ts';
import { archiveFindings } from '../../../src/core/findings/catalogue/archive.ts';
import { type Finding, finding, textsOf } from '../../../src/core/findings/finding.ts';
import type { Mode } from '../../../src/core/model/mode.ts';
import { findPublishedHashes } from '../../../src/io/archive/find-published-hashes.ts';
import { openArchive } from '../../../src/io/archive/open-archive.ts';
import { largestDirectoryBytes } from '../../../src/io/archive/read-shape.ts';
import { buildArchive, type EntrySpec, pack } from '../../fixtures/archives/build-archive.ts';
import { defects } from '../../fixtures/archives/defects.ts';
import { withFolder } from '../../fixtures/archives/read-bytes.ts';

type Look = () => Promise<readonly Finding[]>;

/** What opening alone says of the file that `make` leaves at the path. */
const opened =
  (make: (path: string) => Promise<void>): Look =>
  () =>
    withFolder(async (folder) => {
      const path = join(folder, 'package.zip');
      await make(path);
      const archive = await openArchive(path);
      await archive.close();
      return checkDirectoryFacts(archive.directory);
    });

/** What use and name say of an archive with empty files of these names. */
const used =
  (names: readonly string[], mode?: Mode, fileName = 'package.zip'): Look =>
  () =>
    withFolder(async (folder) => {
      const path = join(folder, fileName);
      await writeFile(path, buildArchive({ entries: names.map((name) => ({ name })) }));
      const archive = await openArchive(path);
      await archive.close();
      return [
        ...checkDirectoryFacts(archive.directory),
        ...checkArchiveFacts(archive.facts, { mode, wantedAtRoot: () => false, names: namesOfFamilies([]) }),
      ];
    });

const listed =
  (list: string): Look =>
  () =>
    withFolder(async (folder) => {
      await writeFile(join(folder, 'package.zip.sha256'), list);
      return checkHashLists((await findPublishedHashes(join(folder, 'package.zip'))).lists);
    });

const hashed =
  (...claims: readonly (readonly [HashClaim['algorithm'], string])[]): Look =>
  async () =>
    checkPublishedHashes(
      claims.map(([algorithm, hex]) => ({ algorithm, hex, from: 'SHA256SUMS' })),
      { sha256: 'aa', sha512: undefined, sha1: undefined, md5: 'cc', crc32: 'dd' },
      true,
    );

/**
 * The directory starts with a record and the end record agrees: only its extent says that it is too large. The file has
 * a hole.
 */
async function makeLargeDirectory(path: string): Promise<void> {
  const small = buildArchive({ entries: [{ name: 'a.img' }] });
  const at = small.indexOf(pack([0x02014b50, 4]));
  const directoryBytes = largestDirectoryBytes + 1;
  const end = buildArchive({ entries: [], end: { entries: 1, entriesOnDisk: 1, directoryBytes, directoryOffset: at } });
  const file = await open(path, 'w');
  await file.write(small.subarray(0, -22), 0, small.length - 22, 0);
  await file.write(end, 0, end.length, at + directoryBytes);
  await file.close();
}

/** A directory of so many records for one and the same empty file, in a real archive. */
async function makeManyEntries(path: string, count: number): Promise<void> {
  const small = buildArchive({ entries: [{ name: 'a.img' }] });
  const at = small.indexOf(pack([0x02014b50, 4]));
  const record = small.subarray(at, -22);
  const directory = Buffer.concat(Array.from({ length: count }, () => record));
  const entries = Math.min(count, 0xffff);
  const end = { entries, entriesOnDisk: entries, directoryBytes: directory.length, directoryOffset: at };
  await writeFile(path, Buffer.concat([small.subarray(0, at), directory, buildArchive({ entries: [], end })]));
}

/**
 * A real gigabyte of zeros: a mebibyte, deflated up to a byte's boundary, 1,024 times (RFC 1951, 3.2.4), and an empty
 * last block.
 */
async function makeExpanding(path: string): Promise<void> {
  const once = deflateRawSync(Buffer.alloc(2 ** 20), { finishFlush: constants.Z_FULL_FLUSH });
  const packed = Buffer.concat([...Array.from({ length: 1024 }, () => once), Buffer.from([0x03, 0x00])]);
  const sizes = { bytes: 2 ** 30 };
  const entry: EntrySpec = { name: 'empty.img', method: 8, packed, local: sizes, central: sizes };
  await writeFile(path, buildArchive({ entries: [entry] }));
}

const record = { flags: 0, method: 0, crc32: 0, compressedBytes: 0, bytes: 0, headerOffset: 0 };

/** Codes that need more than bytes of an archive. */
const others: Readonly<Record<string, Look>> = {
  'archive/directory-too-large': opened(makeLargeDirectory),
  'archive/expands-much': opened(makeExpanding),
  'archive/too-many-entries': opened((path) => makeManyEntries(path, mostCentralRecords + 1)),
  'archive/more-alike': opened((path) => makeManyEntries(path, 102)),
  // No file is known that the library refuses and our own reader passes; what follows if there is one is shown by
  // value.
  'archive/library-objects': async () =>
    checkObjection('unknown reason', [finding('archive/set-id', 'a', { offset: 0 })]),
  // Needs a fault in one of the two readers.
  'archive/readers-disagree': async () =>
    checkReaders(compareDirectoryReaders(undefined, { name: 'a.img', ...record }, 0)),
  'archive/length-differs': async () => checkLength({ fileName: 'package.zip', bytes: 99 }, 100),
  'archive/no-files': used(['images/']),
  'archive/wrapper': used(['release.pdf', 'inner.zip'], 'in-os'),
  'archive/wrapper-seen': used(['release.pdf', 'inner.zip']),
  'archive/nested-folder': used(['fw/a.img', 'fw/b.img'], 'recovery'),
  'archive/nested-folder-seen': used(['fw/a.img', 'fw/b.img']),
  'archive/name-of-copy': used(['a.img'], undefined, 'package (1).zip'),
  'archive/name-of-part-download': used(['a.img'], undefined, 'package.zip.part'),
  'archive/name-of-set-part': used(['a.img'], undefined, 'package.zip.001'),
  'archive/name-not-zip': used(['a.img'], undefined, 'package.dat'),
  'archive/hidden-twins': used(['a.img', '._a.img'], 'recovery'),
  'archive/hidden-twins-seen': used(['a.img', '._a.img'], 'in-os'),
  'archive/mac-folder': used(['a.img', '__MACOSX/._a.img'], 'in-os'),
  'archive/name-invisible': used(['a.img'], undefined, 'pack\u200fage.zip'),
  'archive/hash-list-not-used': () =>
    withFolder(async (folder) => {
      await writeFile(join(folder, 'package.zip.b3'), 'x');
      return checkHashLists((await findPublishedHashes(join(folder, 'package.zip'))).lists);
    }),
  'archive/as-kept': async () =>
    checkPublishedHashes(
      [{ algorithm: 'SHA-256', hex: 'aa', from: 'the record', kept: true }],
      { sha256: 'aa', sha512: undefined, sha1: undefined, md5: undefined },
      true,
    ),
  'archive/hash-crc-only': hashed(['CRC-32', 'dd']),
  'archive/hash-list-silent': listed(`${'0'.repeat(64)}  other.zip\n`),
  'archive/hash-list-unreadable': listed('<html>Sign in</html>\n'),
  'archive/hash-matches': hashed(['SHA-256', 'aa']),
  'archive/hash-differs': hashed(['SHA-256', 'ab']),
  'archive/hash-weak': hashed(['MD5', 'cc']),
  'archive/no-published-hash': hashed(),
};

describe('findings that need more than the bytes of an archive', () => {
  it.each(Object.entries(others))('%s', async (code, look) => {
    const findings = await look();
    expect(findings.map((found) => found.code)).toContain(code);
    for (const found of findings)
      expect(Object.values(textsOf(found)).join('\n')).not.toMatch(/undefined|NaN|\[object/);
  });

  it('and those of the table of defects are all that there are', () => {
    const shown = new Set([...defects.map(({ code }) => code), ...Object.keys(others)]);
    expect([...shown].sort()).toEqual(Object.keys(archiveFindings).sort());
  });
});

it('a file of the length that was copied from the maker’s page is of that length', () => {
  expect(checkLength({ fileName: 'package.zip', bytes: 100 }, 100)).toEqual([]);
});

describe('the second reader’s objection', () => {
  it('is left away where a stop with a name was found', () => {
    expect(checkObjection('some reason', [finding('archive/empty-file', '')])).toEqual([]);
    expect(checkObjection(undefined, [])).toEqual([]);
  });
});
