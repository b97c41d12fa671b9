import { describe, expect, it, test } from 'vitest';
import type { CentralRecord, EntryName } from '../../../../src/core/archive-format/read-central-directory.ts';
import type { ArchiveShape } from '../../../../src/core/archive-format/read-end-records.ts';
import type { LocalHeader } from '../../../../src/core/archive-format/read-local-header.ts';
import { emptyGap, type Gap } from '../../../../src/core/archive-format/reading-facts.ts';
import { checkDirectory, checkLength } from '../../../../src/core/checks/archive/check-directory.ts';
import { checkGap } from '../../../../src/core/checks/archive/check-gap.ts';
import { checkLocalHeader } from '../../../../src/core/checks/archive/check-local-header.ts';
import { checkNameReadings } from '../../../../src/core/checks/archive/check-name.ts';
import { checkForeignEnd } from '../../../../src/core/checks/archive/check-without-directory.ts';
import type { Finding } from '../../../../src/core/findings/finding.ts';

// Records as they were read, because archives of a gigabyte and ten thousand look alike; what a reader makes of bytes
// is tested where it reads them.
const nameOf = (name: string): EntryName => ({ plain: name, shown: name }) as EntryName;
const record = (name: string, more: Partial<CentralRecord> = {}): CentralRecord =>
  ({
    ...{ name: nameOf(name), at: 1000, flags: 0, method: 8, crc32: 7, compressedBytes: 10 },
    bytes: name.endsWith('/') ? 0 : 10,
    ...{ headerOffset: 0, diskStart: 0, versionNeeded: 20, versionMadeBy: 20, externalAttributes: 0 },
    ...{ nameLength: 0, extraLength: 0, modDate: 1, modTime: 1 },
    ...{ zip64: { missing: undefined, contradictory: false }, ...more },
  }) as CentralRecord;
const end = { at: 90_000, commentBytes: 0, disk: 0, directoryDisk: 0, directoryBytes: 0, directoryOffset: 80_000 };

/** Codes and facts of a whole archive in which these entries lie. */
function told(records: readonly CentralRecord[], fileBytes = 90_022): readonly (readonly [string, unknown])[] {
  const whole = { ...end, entries: records.length, entriesOnDisk: records.length };
  const shape = {
    ...{ fileBytes, ends: [whole], end: whole, zip64Locator: undefined, zip64End: undefined, baseBytes: 0 },
    ...{ directoryAt: 80_000, directoryLimit: 80_000, directoryBytes: new Uint8Array(), lastEndMarkAt: 90_000 },
    directory: { records, endsAt: 80_000, stoppedBy: undefined },
  } as unknown as ArchiveShape;
  return checkDirectory(shape)
    .filter(({ code }) => code !== 'archive/bytes-after-last' && code !== 'archive/comment-cut-off')
    .map(({ code, facts }) => [code, facts] as const);
}
const codes = (...given: Parameters<typeof told>) => told(...given).map(([code]) => code);

describe('what an archive says it unpacks to', () => {
  const gib = 2 ** 30;
  // Deflate makes at most 1,032 bytes of one (RFC 1951, 3.2.5).
  it.each<[string, Partial<CentralRecord>, number, readonly string[]]>([
    [
      'a gibibyte, and a hundred times the file',
      { bytes: gib, compressedBytes: gib / 1024 },
      gib / 100,
      ['archive/expands-much'],
    ],
    ['a byte less', { bytes: gib - 1, compressedBytes: gib / 1024 }, gib / 1024, []],
    ['a gibibyte, and less than a hundred times the file', { bytes: gib, compressedBytes: gib / 64 }, gib / 64, []],
    ['just what deflate can do', { bytes: 10_320, compressedBytes: 10 }, 90_022, []],
    ['a byte more', { bytes: 10_321, compressedBytes: 10 }, 90_022, ['archive/size-impossible']],
    [
      'more, by a method that nobody reads',
      { bytes: 10_321, compressedBytes: 10, method: 12 },
      90_022,
      ['archive/method-unsupported'],
    ],
  ])('%s', (_, more, fileBytes, expected) => {
    const outside = ['archive/entry-outside'];
    expect(codes([record('boot.img', more)], fileBytes).filter((code) => !outside.includes(code))).toEqual(expected);
  });

  it('is compared with a length only where somebody gave one', () => {
    const lengths = [undefined, 5, 6].map((expected) => checkLength({ fileName: 'a.zip', bytes: 5 }, expected).length);
    expect(lengths).toEqual([0, 0, 1]);
  });
});

describe('names that fall together on a stick', { tags: ['read-alike-by-all'] }, () => {
  const twins = (...names: readonly string[]) =>
    told(names.map((name) => record(name))).map(([code, facts]) => [code, facts]);
  it.each<[string, string, string]>([
    ['boot.img', 'BOOT.img', 'case'],
    ['boot', 'boot..', 'tail'],
    ['a/b', 'a ./b', 'tail'],
    // The German sharp s has a capital of its own only in Unicode, and the Kelvin sign is a K.
    ['stra\u00dfe.img', 'STRA\u1e9eE.img', 'case'],
    ['k.img', '\u212a.img', 'case'],
    ['\u00e9.img', 'e\u0301.img', 'unicode-form'],
  ])('%s and %s', (one, other, differ) => {
    const found = twins(one, other).filter(([code]) => code === 'archive/twins');
    expect(found).not.toEqual([]);
    for (const [, facts] of found) expect(facts).toMatchObject({ differ });
  });

  it('are told once for each pair of folders, however much lies in them', () => {
    expect(codes(['A/1', 'a/2', 'A/3', 'a/4'].map((name) => record(name)))).toEqual(['archive/twins']);
    expect(codes(['a/', 'a/1', 'b/c/'].map((name) => record(name)))).toEqual([]);
    expect(codes(['a/', 'a/', 'a/1'].map((name) => record(name)))).toEqual(['archive/folder-twice']);
  });
});

describe('a gap between entries', () => {
  const summary = (found: readonly Finding[]) => found.map(({ code, facts }) => [code, facts]);
  const bytes = (...words: readonly number[]) => new Uint8Array(Uint32Array.from(words).buffer);
  const gap = (head: Uint8Array): Gap => ({
    ...emptyGap(50),
    length: head.length,
    head,
    last: head,
    zeroAfterHead: true,
  });
  const local = (flags: number) => ({ flags }) as LocalHeader;
  const signature = 0x08074b50;
  const other = bytes(signature, 1, 2, 3);

  test('is used by a data descriptor that was promised, or that is right, and by no other', () => {
    const before = record('boot.img');
    const right = bytes(signature, 7, 10, 10);
    expect(checkGap(gap(right), before, local(8))).toEqual([]);
    expect(checkGap(gap(right), before, local(0))).toEqual([]);
    expect(summary(checkGap(gap(other), before, local(8)))).toEqual([['archive/descriptor-disagrees', { offset: 50 }]]);
    expect(summary(checkGap(gap(other), before, local(0)))).toEqual([
      ['archive/unnamed-bytes', { offset: 50, bytes: 16 }],
    ]);
  });

  test('holds bytes that nobody names where the entry before it has no header, or there is none before it', () => {
    const unnamed = [['archive/unnamed-bytes', { offset: 50, bytes: 16 }]];
    expect(summary(checkGap(gap(other), record('boot.img'), undefined))).toEqual(unnamed);
    expect(summary(checkGap(gap(other), undefined, undefined))).toEqual(unnamed);
    expect(summary(checkGap(gap(other), undefined, local(8)))).toEqual(unnamed);
  });
});

describe('a header before its data', () => {
  const where = (directory: number, own: number) => {
    const header = {
      ...record('boot.img'),
      ...{ flags: own, nameBytes: new Uint8Array(), extra: { overrun: undefined } },
    } as unknown as LocalHeader;
    const found = checkLocalHeader(record('boot.img', { flags: directory }), 0, header, nameOf('boot.img'));
    return found.flatMap(({ code, facts }) => (code === 'archive/streamed-on-one-side' ? [facts] : []));
  };

  it('says which of the two promises a data descriptor', () => {
    expect(where(0, 8)).toEqual([{ offset: 0, where: "the entry's own header" }]);
    expect(where(8, 0)).toEqual([{ offset: 0, where: 'the directory' }]);
    expect(where(8, 8)).toEqual([]);
  });
});

describe('a name that the directory gives twice', { tags: ['read-alike-by-all'] }, () => {
  it.each([
    ['a_b', 'a\u00e9b', true],
    ['a??b', 'a\u00e9b', true],
    ['a__b_c', 'a\u00e9\u00e8b\u00e9c', true],
    ['xa_b', 'a\u00e9b', false],
    ['x_a', 'a\u00e9a', false],
    ['a_x', 'a\u00e9a', false],
    ['ab', 'ab\u00e9ab', false],
    ['a_/b', 'a\u00e9b', false],
    ['a_c', 'a\u00e9b\u00e9c', false],
  ])('%s may be what an old reader shows of %s: %s', (written, shown, isRendering) => {
    const name = { plain: written, shown } as EntryName;
    const found = checkNameReadings(new TextEncoder().encode(written), name, shown, 9);
    expect(found.map(({ code }) => code)).toEqual(isRendering ? [] : ['archive/two-names']);
  });
});

it('an end record of an archive within one that was cut off is not the file’s own', () => {
  const reach = { leastBytes: 99, cut: 'entry', entry: 'boot.img', offset: 3, reachesTo: 99 } as const;
  expect(checkForeignEnd(9, reach)).toMatchObject([{ code: 'archive/cut-off', facts: { fileBytes: 9, reach } }]);
  expect([...checkForeignEnd(9, undefined), ...checkForeignEnd(9, { ...reach, cut: 'end' })]).toEqual([]);
});
