import { describe, expect, it, test } from 'vitest';
import { type ContentsInput, checkContents } from '../../../../src/core/checks/stick/check-contents.ts';
import {
  checkCondition,
  checkFormat,
  checkMounts,
  checkSize,
  usualFileSystem,
} from '../../../../src/core/checks/stick/check-format.ts';
import { checkPlannedStick, checkStickFacts } from '../../../../src/core/checks/stick/check-stick-facts.ts';
import {
  checkKept,
  checkReadBack,
  checkReadBackKind,
  checkSpeed,
} from '../../../../src/core/checks/stick/check-written.ts';
import type { Content } from '../../../../src/core/contents/classify-contents.ts';
import type { ContentKind } from '../../../../src/core/contents/content-kinds.ts';
import { type Finding, finding } from '../../../../src/core/findings/finding.ts';
import { customaryRules } from '../../../../src/core/model/customary-rules.ts';
import type { LayoutPlan } from '../../../../src/core/model/layout-plan.ts';
import type { Manifest } from '../../../../src/core/model/manifest.ts';
import type { FileGlance, StickEntry, StickFacts } from '../../../../src/core/model/stick-facts.ts';

const told = (findings: readonly Finding[]) => findings.map(({ code, facts }) => [code, facts]);
const rules = customaryRules('recovery');

const stick = {
  target: 'E:',
  kind: 'image',
  fileSystem: 'fat32',
  partitionTable: 'mbr',
  partitions: [],
  otherVolumes: { from: 'sectors', volumes: [] },
  volumeBytes: 1e9,
  freeBytes: 1e9,
  clusterBytes: 4096,
  sectorBytes: 512,
  readOnly: false,
  dirty: false,
  drive: undefined,
} as unknown as StickFacts;
const plan: LayoutPlan = {
  mode: 'recovery',
  items: [],
  untouched: [],
  writeBytes: 0,
  freeBytesNow: 0,
  freeBytesAfter: 0,
  nothingToDo: false,
};
const file = (path: string): StickEntry => ({ path, kind: 'file', bytes: 1 });
const glance = (whole: boolean): FileGlance => ({ image: undefined, names: [], inner: [], whole });

describe('what lies on a stick that is to be prepared', { tags: ['plan-before-touch', 'nobodys-files-vanish'] }, () => {
  const of = (kind: ContentKind, path: string, sign?: string): Content => ({
    ...{ path, kind, entryKind: 'file', bytes: 1 },
    ...(sign === undefined ? {} : { sign }),
  });
  const earlier = {
    ...{ label: { text: 'K2–75', normalised: 'K2-75' }, stick: 'ACD-479', mode: 'in-os' },
    archive: { name: 'reed.zip' },
  } as unknown as Manifest;
  const whole = { state: 'whole', manifest: earlier } as const;
  const ask = (more: Partial<ContentsInput>) =>
    told(
      checkContents({
        ...{ target: 'E:', contents: [], plan, glances: new Map(), manifest: { state: 'none' } },
        ...{ label: 'K2-75', policy: 'stop', strictRoot: false, ...more },
      }),
    );

  test.each<readonly [string, Partial<ContentsInput>, readonly unknown[]]>([
    ['nothing', {}, []],
    ['a package', { contents: [of('other-firmware', 'x.zip')] }, [['stick/other-firmware', { paths: ['x.zip'] }]]],
    [
      'firmware in what is somebody’s',
      { contents: [of('stayed', 'letters'), of('other-firmware', 'letters/x', 'an image')] },
      [['stick/firmware-inside', { found: [{ path: 'letters/x', sign: 'an image' }] }]],
    ],
    [
      'a file of a wanted name',
      { contents: [of('same-name', 'boot.pkg')] },
      [['stick/name-taken', { paths: ['boot.pkg'] }]],
    ],
    [
      'more in a firmware folder',
      { contents: [of('extra', 'images/x')] },
      [['stick/extra-in-firmware-folder', { paths: ['images/x'] }]],
    ],
    ['a twin', { contents: [of('twin', '._a')] }, [['stick/hidden-twins', { paths: ['._a'] }]]],
    [
      'what is not right any more',
      { contents: [of('damaged', 'boot.pkg')] },
      [['stick/damaged-since', { paths: ['boot.pkg'] }]],
    ],
    [
      'what a panel left',
      { contents: [of('panel-mark', 'LOST.DIR')] },
      [['stick/has-been-in-a-panel', { paths: ['LOST.DIR'] }]],
    ],
    [
      'what desks left',
      { contents: [of('desk-mark', '.DS_Store'), of('desk-bin', '.Trashes')] },
      [['stick/system-junk', { paths: ['.DS_Store', '.Trashes'] }]],
    ],
    ['somebody’s', { contents: [of('stayed', 'me.jpg'), of('set-aside', 'set-aside-x')] }, []],
    [
      'anything, for a panel that wants its root to itself',
      {
        contents: [of('stayed', 'me.jpg'), of('panel-mark', 'LOST.DIR'), of('firmware', 'boot.pkg')],
        strictRoot: true,
      },
      [['stick/root-not-empty', { paths: ['me.jpg', 'LOST.DIR'] }]],
    ],
    [
      'what goes by itself, where all in the way goes',
      { contents: [of('other-firmware', 'x.zip')], policy: 'remove' },
      [],
    ],
    [
      'a broken record',
      { manifest: { state: 'broken', problem: 'it is not JSON' } },
      [['stick/manifest-broken', { problem: 'it is not JSON' }]],
    ],
    [
      'another preparation',
      { contents: [of('earlier-preparation', 'old.pkg')], manifest: whole, label: 'K3-75' },
      [['stick/earlier-preparation', { label: 'K2–75', archive: 'reed.zip', mode: 'in-os', paths: ['old.pkg'] }]],
    ],
    [
      'the record of another label',
      { manifest: whole, label: 'K3-75' },
      [['stick/other-label-before', { label: 'K2–75', stickCode: 'ACD-479' }]],
    ],
    ['the record of this label', { manifest: whole, label: 'k2-75' }, []],
    [
      'what is set aside now, and what was before',
      {
        plan: {
          ...plan,
          items: [
            { action: 'set-aside', path: 'a.zip', to: 'set-aside-20261102T073000Z/a.zip.set-aside', bytes: 1 },
            { action: 'set-aside', path: 'b.txt', to: 'set-aside-20261102T073000Z/b.txt', bytes: 1 },
          ],
        },
        glances: new Map([
          ['set-aside-20260101T000000Z/c.zip.set-aside', glance(true)],
          ['d.txt', glance(true)],
        ]),
      },
      [
        [
          'stick/firmware-set-aside',
          { paths: ['set-aside-20261102T073000Z/a.zip.set-aside', 'set-aside-20260101T000000Z/c.zip.set-aside'] },
        ],
      ],
    ],
    [
      'what could not be looked into, and stays',
      {
        plan: {
          ...plan,
          items: [
            { action: 'remove', path: 'gone.zip', kind: 'file', bytes: 1 },
            { action: 'set-aside', path: 'moved.zip', to: 'x/moved.zip', bytes: 1 },
          ],
        },
        glances: new Map([
          ['a.zip', glance(false)],
          ['moved.zip', glance(false)],
          ['b.zip', glance(true)],
          ['gone.zip', glance(false)],
        ]),
      },
      [['stick/not-looked-into', { paths: ['a.zip', 'moved.zip'] }]],
    ],
  ])('%s', (_, more, expected) => {
    expect(ask(more)).toEqual(expected);
  });
});

describe('a stick and its plan', () => {
  const about = {
    stick,
    medium: [],
    isMediumRead: true,
    stands: false,
    mode: 'recovery',
    rules,
    agreed: false,
  } as const;
  const question = { ...about, entries: [] };

  it('are asked all that there is to ask', () => {
    expect(told(checkStickFacts(question))).toEqual([]);
    const bad = {
      ...stick,
      fileSystem: 'exfat',
      mediumBytes: 99e9,
      readOnly: true,
      dirty: true,
    } as unknown as StickFacts;
    const codes = checkStickFacts({
      ...{ ...question, stick: bad, medium: [finding('medium/bad-clusters', 'E:', { count: 1 })] },
      entries: [{ ...file('x'), isMount: true }],
    }).map(({ code }) => code);
    expect(codes).toEqual([
      'stick/file-system-not-taken',
      'stick/large-for-a-boot-loader',
      'medium/bad-clusters',
      'stick/read-only',
      'stick/dirty',
      'stick/mount-inside',
    ]);
  });

  const planned = (more: Partial<Parameters<typeof checkPlannedStick>[0]>) =>
    told(
      checkPlannedStick({
        ...{ about: [], stick, entries: [], contents: [], plan, wanted: { files: [], folders: [] }, rules },
        ...{ glances: new Map(), manifest: { state: 'none' }, label: '', policy: 'stop', strictRoot: false, ...more },
      }),
    ).filter(([code]) => code !== 'plan/wipes-the-panel');

  it('say how far an unfinished run came', () => {
    const items = [
      ...['a', 'b'].map((path) => ({ action: 'keep', path })),
      ...['c', 'd', 'e'].map((path) => ({ action: 'write', path })),
    ] as unknown as LayoutPlan['items'];
    const entries = [file('me.jpg'), { path: 'SW-PART.TMP', kind: 'folder', bytes: 0 } as const];
    expect(planned({ plan: { ...plan, items }, entries })).toEqual([['stick/unfinished', { good: 2, rest: 3 }]]);
    expect(planned({ plan: { ...plan, items }, entries: [file('me.jpg')] })).toEqual([]);
  });

  it('count what belongs to nobody where room is short, and nothing else that was said', () => {
    const short = { ...plan, freeBytesNow: 5, writeBytes: 15, freeBytesAfter: -10 };
    const lost = (bytes: number) => finding('medium/lost-clusters', 'E:', { clusters: 1, bytes });
    const about = [finding('medium/bad-clusters', 'E:', { count: 1 }), lost(4), lost(6)];
    expect(planned({ plan: short, about }).slice(3)).toEqual([
      ['plan/space-belongs-to-nobody', { lostBytes: 10, freeBytes: 5, writeBytes: 15 }],
    ]);
    expect(
      planned({ plan: short, about: [lost(9)] })
        .slice(1)
        .map(([code]) => code),
    ).toEqual(['plan/does-not-fit']);
  });

  it('name two names of one file where nobody can read what the sectors say of it', () => {
    const moved = ['a.img', 'SW-PART.TMP/a.img'].map((path) => ({ ...file(path), stamp: '1' }));
    const codes = (entries: readonly StickEntry[], isMediumRead: boolean) =>
      told(
        checkStickFacts({
          ...{ stick, entries, medium: [], isMediumRead, stands: false, mode: 'recovery', rules, agreed: false },
        }),
      );
    const pairs = [{ first: 'a.img', second: 'SW-PART.TMP/a.img' }];
    expect(codes(moved, false)).toEqual([['stick/two-names', { pairs }]]);
    expect([codes(moved, true), codes(moved.slice(1), false)]).toEqual([[], []]);
  });

  it('are formatted with what boot loader and system know best, of what the panel takes', () => {
    const of = (...fileSystems: readonly string[]) =>
      usualFileSystem({ ...rules, 'file-systems': fileSystems } as typeof rules);
    expect([of('exfat', 'fat32'), of('exfat', 'fat16'), of('ntfs', 'exfat'), of('fat12'), of('ntfs')]).toEqual([
      ...['fat32', 'fat16', 'exfat', 'fat12', 'fat32'],
    ]);
  });

  it('name what hides a part of the stick, each by its kind', () => {
    expect(checkMounts('E:', [file('a')])).toEqual([]);
    const odd = (path: string, kind: StickEntry['odd']): StickEntry => ({ ...file(path), ...(kind && { odd: kind }) });
    expect(
      told(
        checkMounts('E:', [
          { ...file('m'), isMount: true },
          odd('l', 'link'),
          odd('s', 'special'),
          odd('n', 'name'),
          file('a'),
        ]),
      ),
    ).toEqual([
      ['stick/mount-inside', { paths: ['m'] }],
      ['stick/links', { paths: ['l'] }],
      ['stick/special-files', { paths: ['s'] }],
      ['stick/unreadable-names', { paths: ['n'] }],
    ]);
  });

  it('that may be 5 % larger than 32 GB, to the byte, where a boot loader reads', () => {
    const size = (mediumBytes: number) => checkSize({ ...stick, mediumBytes }, 'recovery', rules).length;
    expect([size(33_600_000_000), size(33_600_000_001)]).toEqual([0, 1]);
  });

  it('with several partitions say so once: by the volumes where those are seen', () => {
    const partitions = [1, 2].map((number) => ({ number })) as unknown as StickFacts['partitions'];
    const ask = (otherVolumes: StickFacts['otherVolumes']) =>
      checkFormat({ ...stick, partitions, otherVolumes }, 'recovery', rules).map(({ code }) => code);
    const other = { where: 'partition', number: 2, fileSystem: 'fat32', bytes: 1 } as const;
    expect(ask({ from: 'sectors', volumes: [other] })).toEqual(['stick/several-volumes']);
    expect(ask({ from: 'sectors', volumes: [] })).toEqual(['stick/several-partitions']);
    expect(ask(undefined)).toEqual(['stick/several-partitions']);
    const one = { ...stick, partitions: partitions.slice(0, 1) };
    expect(checkFormat(one, 'recovery', rules)).toEqual([]);
  });
});

describe('a stick by itself', { tags: ['only-the-stick'] }, () => {
  const codes = (findings: readonly Finding[]) => findings.map(({ code }) => code);
  const drive = { removable: true, usb: true, device: '/dev/sdz' };
  const of = (more: object) => ({ ...stick, kind: 'device', drive, ...more }) as unknown as StickFacts;

  test.each([
    ['fat12', 65_536, 512, []],
    ['fat12', 65_537, 512, ['stick/cluster-too-large']],
    ['fat16', 131_072, 512, ['stick/cluster-too-large']],
    ['fat32', 131_072, 4096, ['stick/cluster-too-large', 'stick/sectors-too-large']],
    ['exfat', 131_072, 4096, []],
    ['fat32', undefined, undefined, []],
  ] as const)(
    'on %s may have clusters of %s and sectors of %s bytes for a boot loader, or not',
    (fileSystem, clusterBytes, sectorBytes, expected) => {
      const all = { ...rules, 'file-systems': ['fat12', 'fat16', 'fat32', 'exfat'] } as unknown as typeof rules;
      const facts = { ...stick, fileSystem, clusterBytes, sectorBytes } as StickFacts;
      expect(codes(checkFormat(facts, 'recovery', all))).toEqual(expected);
      expect(codes(checkFormat(facts, 'in-os', all))).toEqual([]);
    },
  );

  it('may be as large as the family says, and 5 % on top', () => {
    const limited = { ...rules, 'largest-stick': '64 GB' } as typeof rules;
    const size = (mediumBytes: number) => told(checkSize({ ...stick, mediumBytes }, 'recovery', limited));
    expect(size(67_200_000_000)).toEqual([]);
    expect(size(67_200_000_001)).toEqual([
      ['stick/larger-than-the-panel-takes', { bytes: 67_200_000_001, largest: 64e9 }],
    ]);
  });

  it('is removable and USB, or is asked about by its name', () => {
    expect(codes(checkCondition(of({}), false))).toEqual([]);
    for (const more of [{ removable: false }, { removable: undefined }, { usb: false }, { usb: undefined }])
      expect(told(checkCondition(of({ drive: { ...drive, ...more } }), false))).toEqual([
        ['stick/not-a-removable-drive', { where: 'E: (/dev/sdz)' }],
      ]);
    expect(told(checkCondition(of({ drive: undefined }), true))).toEqual([
      ['stick/not-a-removable-drive-agreed', { where: 'E:' }],
    ]);
    expect(codes(checkCondition(of({ dirty: true }), false))).toEqual(['stick/dirty']);
    expect(codes(checkCondition(of({ dirty: true, kind: 'folder' }), false))).toEqual([]);
    const unlisted = { drive: undefined, driveUnlisted: 'failed' };
    expect(codes(checkCondition(of(unlisted), false))).toEqual(['stick/drives-not-listed']);
    expect(codes(checkCondition(of(unlisted), true))).toEqual(['stick/drives-not-listed-agreed']);
    expect(codes(checkCondition(of({ driveUnlisted: 'failed' }), false))).toEqual([]);
  });

  test.each([
    ['a switch on it', { drive: { ...drive, readOnly: true } }, 'drive'],
    ['rights that are missing', {}, 'account'],
    ['its driver, after an error', { kind: 'folder', dirty: true }, 'driver'],
    ['how it is mounted', { kind: 'folder', dirty: false }, 'mount'],
  ])('cannot be written by %s', (_, more, by) => {
    expect(told(checkCondition(of({ readOnly: true, ...more }), false))[0]).toEqual(['stick/read-only', { by }]);
  });

  it('of a folder is whole only where the rest of it was looked at', () => {
    const rest = (more: object) => told(checkFormat(of({ kind: 'folder', ...more }), 'recovery', rules));
    expect(rest({})).toEqual([]);
    expect(rest({ otherVolumes: undefined })).toEqual([['stick/rest-not-looked-at', {}]]);
    expect(rest({ otherVolumes: { from: 'operating-system', volumes: [] } })).toEqual([
      ['stick/rest-as-listed', { device: '/dev/sdz' }],
    ]);
    for (const more of [{ drive: undefined }, { drive: { ...drive, removable: false } }, { kind: 'image' }])
      expect(rest({ otherVolumes: undefined, ...more })).toEqual([]);
  });
});

describe('what was written and read back', { tags: ['ready-means-read-back'] }, () => {
  it('differs file by file, or not at all', () => {
    expect(told(checkReadBack([{ path: 'a', expected: '1', got: '2' }]))).toEqual([
      ['plan/read-back-differs', { expected: '1', got: '2' }],
    ]);
    expect(told(checkKept('E:', ['a', 'b']))).toEqual([['plan/kept-differs', { paths: ['a', 'b'] }]]);
    expect([...checkReadBack([]), ...checkKept('E:', [])]).toEqual([]);
  });

  it('came from the medium, out of the memory, or is an image that proves nothing', () => {
    const kinds = (['medium', 'cache'] as const).flatMap((kind) =>
      [false, true].map((asImage) => checkReadBackKind('E:', kind, asImage).map(({ code }) => code)),
    );
    expect(kinds).toEqual([[], ['plan/image-to-copy'], ['plan/read-back-from-cache'], ['plan/image-to-copy']]);
  });

  // Less than 8 MiB says nothing of the stick; a megabyte a second is slow.
  test.each([
    ['slowly', 2 ** 23, 8388.7, [['stick/slow', { bytes: 2 ** 23, ms: 8389 }]]],
    ['just well enough', 2 ** 23, 8388.608, []],
    ['slowly, but little', 2 ** 23 - 1, 99_999, []],
    ['well', 2 ** 33, 1000, []],
  ])('went %s', (_, bytes, ms, expected) => {
    expect(told(checkSpeed('E:', { bytes, ms }))).toEqual(expected);
  });
});
