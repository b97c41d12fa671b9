import { describe, expect, it, test } from 'vitest';
import { checkArchiveFacts, judgePass } from '../../../../src/core/checks/archive/check-archive-facts.ts';
import type { ArchiveEntry, ArchiveFacts } from '../../../../src/core/model/archive-facts.ts';
import type { Mode } from '../../../../src/core/model/mode.ts';

const entry = (name: string, bytes = 1): ArchiveEntry => ({
  name,
  folder: name.endsWith('/'),
  bytes,
  compressedBytes: bytes,
  method: 0,
  crc32: 0,
  headerOffset: 0,
});
const facts = (names: readonly string[], fileName = 'package.zip'): ArchiveFacts => ({
  path: fileName,
  fileName,
  bytes: 1,
  entries: names.map((name) => entry(name)),
  directorySha256: '',
});
const none = (_path: string): boolean => false;
const noNames = { isPackageName: none, isRecoveryFile: none, isRecoveryTree: () => false };
const codes = (names: readonly string[], mode?: Mode, wantedAtRoot = none) =>
  checkArchiveFacts(facts(names), { mode, wantedAtRoot, names: noNames }).map(({ code }) => code);

const found = (names: readonly string[], mode?: Mode, inner: ArchiveFacts['inner'] = [], isPackageName = none) =>
  checkArchiveFacts({ ...facts(names), inner }, { mode, wantedAtRoot: none, names: { ...noNames, isPackageName } });

describe('a tree in one folder', () => {
  const nested = ['fw/', 'fw/v2/boot.pkg', 'fw/v2/images/a.img'];
  it('stops a recovery and is noted otherwise', () => {
    expect(codes(nested, 'recovery')).toEqual(['archive/nested-folder']);
    expect(codes(nested, 'in-os')).toEqual(['archive/nested-folder-seen']);
    expect(codes(nested)).toEqual(['archive/nested-folder-seen']);
  });
  it('names folder and depth', () => {
    const [found] = checkArchiveFacts(facts(nested), { mode: 'recovery', wantedAtRoot: none, names: noNames });
    expect(found?.facts).toEqual({ folder: 'fw/v2', depth: 2 });
  });
  it('looks past what desktops add', () => {
    expect(codes([...nested, '__MACOSX/._fw', '.DS_Store'], 'recovery')).toEqual([
      'archive/nested-folder',
      'archive/mac-folder',
    ]);
  });
  it('is right where the family wants it', () => {
    expect(codes(nested, 'recovery', (path) => path === 'fw/v2/boot.pkg')).toEqual([]);
  });
  it('is no finding where a file lies at the root, where folders differ, or where there is no file', () => {
    expect(codes(['boot.pkg', 'images/a.img'], 'recovery')).toEqual([]);
    expect(codes(['boot/a.img', 'images/a.img'], 'recovery')).toEqual([]);
    expect(codes(['images/', '.DS_Store'], 'recovery')).toEqual([]);
  });
  it('is the folder that all have in common', () => {
    for (const names of [
      ['fw/v2/a.img', 'fw/b.img', 'fw/v2/c.img'],
      ['fw/a.img', 'fw/v2/b.img', 'fw/v3/c.img'],
    ])
      expect(found(names, 'recovery')).toMatchObject([{ facts: { folder: 'fw', depth: 1 } }]);
  });
});

describe('an archive that was packed on a Mac', () => {
  const own = { tags: ['read-alike-by-all'] };
  const firmware = ['boot.pkg', 'images/', 'images/a.img'];
  test('is told in every mode where it carries __MACOSX', own, () => {
    for (const mode of ['recovery', 'in-os', undefined] as const) {
      expect(codes([...firmware, '__MACOSX/', '__MACOSX/images/._a.img'], mode)).toEqual(['archive/mac-folder']);
      expect(codes([...firmware, 'images/__macosx/._a.img'], mode)).toEqual(['archive/mac-folder']);
    }
  });
  test('stops a recovery where twins lie beside the files', own, () => {
    expect(codes([...firmware, 'images/._a.img'], 'recovery')).toEqual(['archive/hidden-twins']);
    expect(codes([...firmware, '._boot.pkg'], 'in-os')).toEqual(['archive/hidden-twins-seen']);
    expect(codes([...firmware, '._boot.pkg'])).toEqual(['archive/hidden-twins-seen']);
  });
  test('is none where the family wants such a name, or only a folder or an inner dot has it', own, () => {
    expect(codes([...firmware, '._other.pkg'], 'recovery', (path) => path === '._other.pkg')).toEqual([]);
    // A pattern for what is wanted fits the twin of a wanted file as well.
    expect(codes([...firmware, 'images/._a.img'], 'recovery', (path) => path.endsWith('.img'))).toEqual([
      'archive/hidden-twins',
    ]);
    expect(codes([...firmware, '._x/b.img', 'a._b', '.boot'], 'recovery')).toEqual([]);
    expect(codes(['fw._1/a.img', 'fw._1/._a.img', 'b.img'], 'recovery', (path) => path.endsWith('.img'))).toEqual([
      'archive/hidden-twins',
    ]);
  });
  test('has so many of its files, folders not counted', own, () => {
    expect(found(['images/', 'a.img', '__MACOSX/', '__MACOSX/._a.img'], 'in-os')).toMatchObject([
      { code: 'archive/mac-folder', facts: { files: 1, of: 2 } },
    ]);
  });
});

describe('an archive around the archive', () => {
  const wrapper = ['inner.zip', 'How to update.pdf', 'README'];
  it('stops in both modes, and is a caution where none was chosen yet', () => {
    expect(codes(wrapper, 'in-os')).toEqual(['archive/wrapper']);
    expect(codes(wrapper, 'recovery')).toEqual(['archive/wrapper']);
    expect(codes(['fw/inner.zip', 'fw/guide.pdf'], 'recovery')).toEqual(['archive/wrapper']);
    expect(codes(wrapper)).toEqual(['archive/wrapper-seen']);
  });
  it('is right where the family wants the inner one at the root', () => {
    expect(codes(wrapper, 'recovery', (path) => path === 'inner.zip')).toEqual([]);
  });
  it('is no finding where there is firmware beside it, or nothing but papers', () => {
    expect(codes(['update.zip', 'boot.img'], 'in-os')).toEqual([]);
    expect(codes(['How to update.pdf', 'README'], 'in-os')).toEqual([]);
  });
  it('is told by the archives in it, of several by that with the firmware, and by how much lies beside', () => {
    expect(found(['docs/', 'inner.zip', 'docs/guide.pdf', 'README'], 'in-os')).toMatchObject([
      { code: 'archive/wrapper', facts: { inner: ['inner.zip'], papers: 2 } },
    ]);
    const isPackageName = (name: string) => name === 'reed.zip';
    expect(found(['reed.zip', 'apps.zip', 'start.exe'], 'in-os', [], isPackageName)).toMatchObject([
      { code: 'archive/wrapper', facts: { inner: ['reed.zip'], papers: 1 } },
    ]);
    expect(found(['apps.zip', 'start.exe'], 'in-os', [], isPackageName)).toEqual([]);
    expect(found(['apps.zip', 'start.exe', 'README'], 'in-os', [], isPackageName)).toEqual([]);
  });
  it('is told by what lies in a file that is an archive under another ending', () => {
    const glance = (names: readonly string[]) => [
      { name: 'data.dat', names, inner: [], image: undefined, whole: true },
    ];
    expect(found(['data.dat', 'start.exe'], 'in-os', glance(['payload.bin']))).toMatchObject([
      { code: 'archive/wrapper', facts: { inner: ['data.dat'] } },
    ]);
    expect(found(['data.dat', 'start.exe'], 'in-os', glance([]))).toEqual([]);
    expect(found(['data.dat', 'README'], 'in-os', glance([]))).toEqual([]);
  });
});

describe('names that downloads and archivers make', () => {
  it.each([
    ['package.zip', []],
    ['package (1).zip', ['archive/name-of-copy']],
    ['package(2).zip', ['archive/name-of-copy']],
    ['package - Copy.zip', ['archive/name-of-copy']],
    ['package copy 2.zip', ['archive/name-of-copy']],
    ['package.zip.zip', ['archive/name-of-copy']],
    ['package.zip.part', ['archive/name-of-part-download']],
    ['package.zip.crdownload', ['archive/name-of-part-download']],
    ['package.z01', ['archive/name-of-set-part']],
    ['package.zip.001', ['archive/name-of-set-part']],
    ['package.part1.zip', ['archive/name-of-set-part']],
    ['package_20240117.zip', []],
    ['package.upd', ['archive/name-not-zip']],
    ['package.zip.upd', ['archive/name-not-zip']],
  ])('%s', (fileName, expected) => {
    const found = checkArchiveFacts(facts(['boot.pkg'], fileName), {
      mode: undefined,
      wantedAtRoot: none,
      names: noNames,
    });
    expect(found.map(({ code }) => code)).toEqual(expected);
  });

  it('tells the name that the maker probably gave', () => {
    const [found] = checkArchiveFacts(facts(['a'], 'reed.746 (1).zip'), {
      mode: undefined,
      wantedAtRoot: none,
      names: noNames,
    });
    expect(found?.facts).toEqual({ mark: '(1)', original: 'reed.746.zip' });
  });
});

it('a file of another ending in which nothing lies is not said to be named wrongly, too', () => {
  const use = { mode: undefined, wantedAtRoot: none, names: noNames };
  expect(checkArchiveFacts(facts([], 'package.upd'), use)).toEqual([]);
});

describe('archives in archives', () => {
  const gib = 2 ** 30;
  // Deflate makes at most 1,032 bytes of one (RFC 1951, 3.2.5: 258 bytes for two codes of one bit each).
  it.each([
    ['one level, however much', { depth: 1, bytes: 9 * gib, endless: false }, 9, []],
    ['two levels, and more than once packing can do', { depth: 2, bytes: gib, endless: false }, 9, [gib]],
    ['two levels, and a byte less than a gibibyte', { depth: 2, bytes: gib - 1, endless: false }, 9, []],
    ['two levels, and just what once packing can do', { depth: 2, bytes: 1032 * 2 ** 21, endless: false }, 2 ** 21, []],
    [
      'two levels, and a byte more',
      { depth: 2, bytes: 1032 * 2 ** 21 + 1, endless: false },
      2 ** 21,
      [1032 * 2 ** 21 + 1],
    ],
    ['no end', { depth: 12, bytes: 9, endless: true }, 9, [undefined]],
  ])('%s', (_, nesting, compressedBytes, expected) => {
    const { seen, findings } = judgePass();
    const outcome = { problem: undefined, bytes: 1, crc32: 0, unusedBytes: 0, sha256: '' };
    seen({ kind: 'content', place: 0, entry: { ...entry('inner.zip'), compressedBytes }, outcome, nesting });
    const facts = expected.map((bytes) => ({ depth: nesting.depth, bytes }));
    expect(findings().map((found) => found.facts)).toEqual(facts);
  });
});
