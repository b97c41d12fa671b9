import { describe, expect, it, test } from 'vitest';
import { checkArchiveFacts } from '../../../../src/core/checks/archive/check-archive-facts.ts';
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
  it('is no finding where a file lies at the root', () => {
    expect(codes(['boot.pkg', 'images/a.img'], 'recovery')).toEqual([]);
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
  it('is no finding where there is firmware beside it', () => {
    expect(codes(['update.zip', 'boot.img'], 'in-os')).toEqual([]);
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
