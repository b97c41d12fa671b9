import { describe, expect, it, test } from 'vitest';
import { keepCandidates } from '../../../src/core/contents/find-kept.ts';
import {
  firmwareSign,
  holdsAll,
  isOwnFirmware,
  isPutAway,
  nameSetAside,
  namesOf,
} from '../../../src/core/contents/firmware-signs.ts';
import { isLogName, sortReturned } from '../../../src/core/contents/sort-contents.ts';
import { globTest, namesOfFamilies, wantedTree } from '../../../src/core/contents/wanted-tree.ts';
import type { ArchiveFacts } from '../../../src/core/model/archive-facts.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import type { FileGlance, InnerGlance, StickEntry } from '../../../src/core/model/stick-facts.ts';
import { familyNamed, sampleFamilies } from '../label/families.ts';

const families = await sampleFamilies();
const names = namesOfFamilies([familyNamed(families, 'sedge')]);
const glance = (more: Partial<FileGlance> = {}): FileGlance => ({
  ...{ image: undefined, names: [], inner: [], whole: true },
  ...more,
});
const inside = (name: string, more: Partial<FileGlance> = {}): InnerGlance => ({ ...glance(more), name });

describe('a file that a panel could take for firmware', { tags: ['read-alike-by-all'] }, () => {
  const update = 'an Android update package';
  test.each<readonly [string, FileGlance | undefined, string | undefined]>([
    ['letters/reed.746_5B_second_K2.zip', undefined, 'the name of a package'],
    ['letters/SEDGE_BOOT.PKG', undefined, 'a name that recovery looks for'],
    ['letters/images/x.img', undefined, 'a name that recovery looks for'],
    ['letters/x.img', undefined, undefined],
    ['a.dat', glance(), undefined],
    ['a.dat', glance({ image: 'a disk image' }), 'a disk image'],
    ['a.dat', glance({ names: ['photo.jpg', 'payload.bin'] }), update],
    ['a.dat', glance({ names: ['x/META-INF/com/android/metadata'] }), update],
    ['a.dat', glance({ names: ['META-INF/com/google/android/updater-script'] }), update],
    ['a.apk', glance({ names: ['META-INF/MANIFEST.MF', 'x/payload.bin'] }), undefined],
    [
      'a.dat',
      glance({ names: ['readme', 'x/reed.746_5B_second_K2.zip'] }),
      'an archive around reed.746_5B_second_K2.zip',
    ],
    ['a.dat', glance({ names: ['fw/sedge_boot.pkg', 'fw/images/a.img'] }), 'an archive with all that a recovery wants'],
    ['a.dat', glance({ names: ['readme', 'x/disk.img'] }), 'an archive with disk.img'],
    ['a.zip', glance({ names: ['photo.jpg'] }), undefined],
    [
      'a.dat',
      glance({ inner: [inside('x'), inside('y/in.zip', { names: ['payload.bin'] })] }),
      `an archive around in.zip: ${update}`,
    ],
  ])('%s (%#)', (path, seen, expected) => {
    expect(firmwareSign(path, seen, names)).toBe(expected);
  });

  it('is one by its name or its ending, in an archive by itself', () => {
    for (const path of ['payload.bin', 'x/a.IMG', 'META-INF/com/android/metadata.pb'])
      expect([path, isOwnFirmware(['readme', path])]).toEqual([path, true]);
    expect([isOwnFirmware(['readme', 'a.zip', 'payload.bin.txt']), isOwnFirmware([])]).toEqual([false, false]);
  });

  it('is all of it only where every test holds, seen from any folder', () => {
    const tests = ['a.img', 'b/*.pkg'].map((one) => globTest([one]));
    expect(holdsAll(['x/y/a.img', 'x/b/c.pkg'], tests)).toBe(true);
    expect(holdsAll(['x/a.img'], tests)).toBe(false);
    expect(holdsAll(['a.img'], [])).toBe(false);
  });

  it('that was set aside has a name that FAT can hold, and is known by it', () => {
    expect(nameSetAside('a.zip')).toBe('a.zip.set-aside');
    expect(nameSetAside('x'.repeat(255))).toHaveLength(255);
    expect(isPutAway('set-aside-20261102T073000Z/a.zip.set-aside')).toBe(true);
    expect(['set-aside-20261102T073000Z/a.zip', 'letters/a.zip.set-aside', 'a.zip'].some(isPutAway)).toBe(false);
  });
});

describe('what names firmware has', () => {
  it('say the families, by their patterns and in any case, and nobody where there is none', () => {
    expect(names.isPackageName('reed.746_5B_second_K2.zip')).toBe(true);
    expect(names.isPackageName('letters.zip')).toBe(false);
    expect([names.isRecoveryFile('Sedge_Boot.pkg'), names.isRecoveryFile('x/sedge_boot.pkg')]).toEqual([true, false]);
    expect(names.isRecoveryTree(['x/sedge_boot.pkg', 'x/images/a.img'])).toBe(true);
    expect(names.isRecoveryTree(['sedge_boot.pkg'])).toBe(false);
    const { recovery: _, ...modes } = familyNamed(families, 'sedge').modes;
    for (const none of [namesOfFamilies([]), namesOfFamilies([{ ...familyNamed(families, 'sedge'), modes }])]) {
      expect([none.isRecoveryFile('sedge_boot.pkg'), none.isRecoveryTree(['sedge_boot.pkg'])]).toEqual([false, false]);
    }
    const both = namesOfFamilies(families);
    expect(both.isRecoveryTree(['x/sedge_boot.pkg', 'x/images/a.img'])).toBe(true);
    expect([globTest(['.a*'])('.ab'), globTest(['A*'])('ab'), globTest([])('')]).toEqual([true, true, false]);
    expect(globTest(['images/*.img'])('images/.ab.img')).toBe(true);
    expect(['reed.746_5B_second_K2.zip', 'x.zip'].map(both.isPackageName)).toEqual([true, false]);
  });

  it('says a manifest alone, as far as its files look like firmware', () => {
    const files = ['Boot.pkg', 'images/a.img', 'readme.txt'].map((path) => ({ path }));
    const of = (mode: string) => namesOf({ archive: { name: 'Reed.zip' }, files, mode } as unknown as Manifest);
    const recovery = of('recovery');
    expect([recovery.isPackageName('reed.ZIP'), recovery.isPackageName('other.zip')]).toEqual([true, false]);
    expect(['boot.PKG', 'images/a.img', 'a.img', 'readme.txt'].map(recovery.isRecoveryFile)).toEqual([
      true,
      true,
      false,
      false,
    ]);
    expect(recovery.isRecoveryTree(['x/boot.pkg', 'x/images/A.IMG'])).toBe(true);
    expect(recovery.isRecoveryTree(['x/boot.pkg'])).toBe(false);
    const inOs = of('in-os');
    expect([inOs.isRecoveryFile('boot.pkg'), inOs.isRecoveryTree(['boot.pkg', 'images/a.img'])]).toEqual([
      false,
      false,
    ]);
  });
});

describe('what a panel must find', () => {
  const entry = (name: string) => ({ name, folder: name.endsWith('/'), bytes: 1, crc32: 7 });
  const archive = {
    ...{ fileName: 'reed.zip', bytes: 9 },
    entries: ['z/', 'b/deep/x', 'a.img', 'c//', '/'].map(entry),
  } as unknown as ArchiveFacts;

  it('is the archive as it is, or its tree with every folder, parents first', () => {
    expect(wantedTree('in-os', archive)).toEqual({
      files: [{ path: 'reed.zip', bytes: 9, origin: { from: 'archive' } }],
      folders: [],
    });
    expect(wantedTree('recovery', archive)).toEqual({
      files: ['b/deep/x', 'a.img'].map((path) => ({ path, bytes: 1, origin: { from: 'entry', name: path, crc32: 7 } })),
      folders: ['b', 'b/deep', 'c', 'z'],
    });
  });

  it('may be there already: an archive only where a record of this very job says what it holds', () => {
    const entries: StickEntry[] = [
      { path: 'reed.zip', kind: 'file', bytes: 9 },
      { path: 'SW-PART.TMP/reed.zip', kind: 'file', bytes: 9 },
      { path: 'SW-PART.TMP', kind: 'folder', bytes: 0 },
    ];
    const wanted = wantedTree('in-os', archive);
    const found = (sameJob: boolean, manifest: Manifest | undefined) =>
      keepCandidates({ wanted, entries, manifest, sameJob }).map(({ entry: { path }, staged }) => [path, staged]);
    expect(found(true, {} as Manifest)).toEqual([
      ['reed.zip', false],
      ['SW-PART.TMP/reed.zip', true],
    ]);
    expect([...found(false, {} as Manifest), ...found(true, undefined)]).toEqual([]);
    const folder = entries.map((one): StickEntry => ({ ...one, kind: 'folder' }));
    expect(keepCandidates({ wanted, entries: folder, manifest: {} as Manifest, sameJob: true })).toEqual([]);
  });
});

describe('the names of what panels write down', () => {
  test.each(
    [
      ...['a.log', 'a.LOG.12', 'a.trace.gz', 'boot.kmsg.1.zip', 'last_log', 'last_log.12', 'kmsg-x', 'dmesg_1'],
      ...[
        'bugreport-x.zip',
        'dumpstate',
        'tombstone_01',
        'anr_2026.txt',
        'trace',
        'traces.txt',
        'trace.pb',
        'console-ramoops',
      ],
      ...[
        'dmesg-ramoops-0',
        'pmsg-ramoops-12',
        'core',
        'core.1234',
        'update_status',
        'ota-result.xml',
        'flash failed.txt',
      ],
      ...['updaterState.json', 'install_ok.dat'],
    ].map((name) => [name]),
  )('%s', (name) => {
    expect(isLogName(name)).toBe(true);
  });

  test.each(
    [
      ...[
        'log',
        'a.logs',
        'a.log.x',
        'a.log.txt',
        'my_last_log',
        'last_logs',
        'last_log x',
        'my bugreport',
        'bugreport x',
        'xtraces',
      ],
      ...[
        'xconsole-ramoops',
        'console-ramoops-x',
        'console-ramoops-0x',
        'hardcore',
        'core.x',
        'core.12x',
        'my_update_status',
        'update_status.doc',
      ],
      ...['update__status', 'update_statuses', 'recovery.done'],
    ].map((name) => [name]),
  )('%s is no such name', (name) => {
    expect(isLogName(name)).toBe(false);
  });
});

describe('what cannot be opened on a stick that came back', { tags: ['nobodys-files-vanish'] }, () => {
  const manifest = {
    ...{ files: [{ path: 'deep/in/boot.pkg' }], folders: [], untouched: [{ path: 'mine', bytes: 1 }] },
    setAside: [{ path: 'x', to: 'set-aside-20261102T073000Z/in/x' }],
  } as unknown as Manifest;
  const sort = (path: string, more: Partial<StickEntry> = {}) =>
    sortReturned([{ path, kind: 'file', bytes: 1, ...more }], manifest, 'stickwright').map(({ what, isNew }) => [
      what,
      isNew,
    ]);

  test.each<readonly [string, Partial<StickEntry>, string, boolean]>([
    ['deep/in/boot.pkg', {}, 'firmware', true],
    ['deep', { kind: 'folder' }, 'firmware', true],
    ['deep/in', { kind: 'folder' }, 'firmware', true],
    ['deep/in/boot.pkg', { odd: 'link' }, 'firmware', true],
    ['deep/in/boot.pkg', { odd: 'name' }, 'unexplained', true],
    ['stickwright/seal.json', { odd: 'special' }, 'record', true],
    ['stickwright/seal.json', { kind: 'folder' }, 'unexplained', true],
    ['stickwright/in/seal.json', {}, 'unexplained', true],
    ['last_log', { odd: 'link' }, 'unexplained', true],
    ['last_log', {}, 'panel-log', true],
    ['last_log', { kind: 'folder' }, 'unexplained', true],
    ['deep/last_log', {}, 'panel-log', true],
    ['deep/LOST.DIR', { kind: 'folder' }, 'unexplained', true],
    ['mine', { odd: 'link' }, 'stayed', false],
    ['set-aside-20261102T073000Z', { kind: 'folder' }, 'stayed', false],
    ['set-aside-20261102T073000Z/in', { kind: 'folder' }, 'stayed', false],
    ['set-aside-20261102T073000Z/in/x', {}, 'stayed', false],
    ['set-aside-20261102T073000Z/in', {}, 'unexplained', true],
    ['set-aside-20261102T073000Z/new', { kind: 'folder' }, 'unexplained', true],
    ['set-aside-20260101T000000Z', { kind: 'folder' }, 'unexplained', true],
    ['Music', {}, 'unexplained', true],
    ['Music/.nomedia', {}, 'panel-mark', true],
    ['logs', {}, 'unexplained', true],
    ['.Trashes/x', {}, 'desk-bin', true],
    ['.Trashes/.DS_Store', {}, 'desk-mark', true],
  ])('%s %o is %s', (path, more, what, isNew) => {
    expect(sort(path, more)).toEqual([[what, isNew]]);
  });

  it('is somebody’s where no record tells, but for the tool’s own folder', () => {
    const entries = ['me.jpg', 'stickwright'].map((path) => ({ path, kind: 'folder', bytes: 0 }) as const);
    expect(sortReturned(entries, undefined, 'stickwright').map(({ what, isNew }) => [what, isNew])).toEqual([
      ['stayed', false],
      ['record', false],
    ]);
  });
});
