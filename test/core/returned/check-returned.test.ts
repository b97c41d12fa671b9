import { describe, expect, it, test } from 'vitest';
import { sortReturned } from '../../../src/core/contents/sort-contents.ts';
import { type Finding, finding } from '../../../src/core/findings/finding.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import type { StickEntry, StickFacts } from '../../../src/core/model/stick-facts.ts';
import {
  canSettleMark,
  checkCleared,
  checkClearing,
  checkIsOurs,
  checkWorn,
} from '../../../src/core/returned/check-clearing.ts';
import {
  checkFirmwareBack,
  checkListable,
  checkReturned,
  checkUnmade,
  conclude,
  stateOf,
} from '../../../src/core/returned/check-returned.ts';
import { planClearing } from '../../../src/core/returned/plan-clearing.ts';
import { type Flaw, flaw, type MediumFacts } from '../../../src/core/volume-format/audit/flaw.ts';

const manifest = {
  files: ['boot.pkg', 'images/a.img'].map((path) => ({ path, bytes: 10, sha256: 'x' })),
  folders: ['images'],
  untouched: [
    { path: 'letters', bytes: 20 },
    { path: 'photos', bytes: 10 },
  ],
  setAside: [],
  family: null,
} as unknown as Manifest;

/** `path`, `path/` for a folder, `path 700` for a file of so many bytes; others have 10. */
const entry = (text: string): StickEntry => {
  const [path = '', bytes = '10'] = text.split(' ');
  return path.endsWith('/')
    ? { path: path.slice(0, -1), kind: 'folder', bytes: 0 }
    : { path, kind: 'file', bytes: Number(bytes) };
};
const prepared = ['boot.pkg', 'images/', 'images/a.img', 'stickwright/', 'stickwright/manifest.json'];
const stayed = ['letters/', 'letters/a.txt', 'letters/b.txt', 'photos/', 'photos/a.jpg'];
const stick = { target: 'E:', kind: 'image', dirty: false } as unknown as StickFacts;
const sound = { volumes: [], flaws: [] } as unknown as MediumFacts;
const sort = (entries: readonly string[], of: Manifest | undefined = manifest) =>
  sortReturned(entries.map(entry), of, 'stickwright');
const factsOf = (findings: readonly Finding[]) => findings.map(({ code, facts }) => [code, facts]);

describe('a stick that came back', { tags: ['nobodys-files-vanish'] }, () => {
  test.each<readonly [string, readonly string[], readonly unknown[]]>([
    ['as it went', stayed, []],
    [
      'from a panel that made a folder, a log and a file',
      [...stayed, 'LOST.DIR/', 'last_log 7', 'Android/', 'Android/data/', 'Android/data/board.svg 9'],
      [
        ['returned/visited', { paths: ['LOST.DIR', 'last_log', 'Android'] }],
        ['returned/logs-left', { paths: ['last_log'], bytes: 7 }],
        ['returned/files-of-a-panel', { paths: ['Android/data/board.svg'], bytes: 9 }],
      ],
    ],
    [
      'from a desk',
      [...stayed, '.fseventsd/', '.fseventsd/1', 'images/.DS_Store'],
      [['returned/was-at-a-desk', { paths: ['.fseventsd', 'images/.DS_Store'] }]],
    ],
    [
      'with what nobody knows, what was thrown away, and a twin',
      [...stayed, 'new/', 'new/a.txt', '.Trashes/', '.Trashes/b.txt 6', 'images/._a.img'],
      [
        ['returned/was-at-a-desk', { paths: ['.Trashes'] }],
        ['returned/unexplained', { paths: ['new'] }],
        ['returned/thrown-away', { paths: ['.Trashes/b.txt'], bytes: 6 }],
        ['returned/twins', { paths: ['images/._a.img'] }],
      ],
    ],
    ['without somebody’s folder', stayed.slice(0, 3), [['returned/others-gone', { paths: ['photos'] }]]],
    [
      'with more in somebody’s folder',
      [...stayed, 'photos/b.jpg'],
      [['returned/others-changed', { paths: ['photos'] }]],
    ],
  ])('%s', (_, more, expected) => {
    expect(factsOf(checkReturned({ target: 'E:', manifest, sorted: sort([...prepared, ...more]), stick }))).toEqual(
      expected,
    );
  });

  it('with something at the root of a panel that wants it to itself', () => {
    const family = { onlyTheseAtRoot: true } as Manifest['family'];
    const ask = (of: Manifest['family'], ...more: readonly string[]) =>
      factsOf(
        checkReturned({
          ...{ target: 'E:', stick, manifest: { ...manifest, family: of } as Manifest },
          sorted: sort([...prepared, ...stayed, ...more]),
        }),
      ).filter(([code]) => code === 'verify/root-not-empty');
    const more = ['LOST.DIR/', '.fseventsd/', '.Trashes/', '.Trashes/b.txt', 'images/.DS_Store'];
    expect(ask(family, ...more)).toEqual([
      ['verify/root-not-empty', { paths: ['LOST.DIR', '.fseventsd', '.Trashes'] }],
    ]);
    expect([
      ...ask(family),
      ...ask(null, ...more),
      ...ask({ onlyTheseAtRoot: false } as Manifest['family'], ...more),
    ]).toEqual([]);
  });

  it('with a folder of a system that somebody had there, and it grew: that is nobody’s change, and no visit', () => {
    const untouched = [
      { path: 'LOST.DIR', bytes: 0 },
      { path: 'letters', bytes: 20 },
    ];
    const before = { ...manifest, untouched } as Manifest;
    const sorted = sort([...prepared, ...stayed.slice(0, 3), 'LOST.DIR/', 'LOST.DIR/1'], before);
    expect(checkReturned({ target: 'E:', manifest: before, sorted, stick })).toEqual([]);
  });

  test.each([
    ['an image', { dirty: true }, ['returned/not-ejected']],
    ['a mounted folder, which its driver marks', { dirty: true, kind: 'folder' }, []],
    ['an image, and nobody tells', { dirty: undefined }, []],
  ] as const)('marked as not ejected: %s', (_, changed, expected) => {
    const facts = { target: 'E:', manifest, sorted: sort([...prepared, ...stayed]), stick: { ...stick, ...changed } };
    expect(checkReturned(facts as Parameters<typeof checkReturned>[0]).map(({ code }) => code)).toEqual(expected);
  });

  it('that cannot be listed shows nothing else', () => {
    expect(factsOf(checkListable('E:', 'EIO'))).toEqual([['returned/not-readable', { problem: 'EIO' }]]);
  });
});

describe('a stick without a record that counts', () => {
  const known = { manifest };
  const none = { state: 'none' } as const;
  test.each<
    readonly [string, readonly string[], Parameters<typeof checkUnmade>[1]['manifest'], object | undefined, unknown]
  >([
    ['was never prepared', ['me.jpg'], none, undefined, ['verify/not-prepared', {}]],
    [
      'is being prepared',
      ['SW-PART.TMP/', 'boot.pkg'],
      none,
      known,
      ['returned/preparation-unfinished', { isStopped: false }],
    ],
    [
      'is being prepared, and nearly done',
      ['SW-DONE.TMP/'],
      none,
      undefined,
      ['returned/preparation-unfinished', { isStopped: false }],
    ],
    [
      'is being cleared',
      ['boot.pkg', 'me.jpg', 'stickwright/', 'stickwright/MANIFEST.OLD'],
      none,
      known,
      ['returned/clearing-unfinished', { files: 1 }],
    ],
    [
      'has a broken one',
      ['boot.pkg'],
      { state: 'broken', problem: 'it is not JSON' },
      known,
      ['verify/manifest-broken', { problem: 'it is not JSON' }],
    ],
  ])('%s', (_, entries, reading, of, expected) => {
    const survey = { entries: entries.map(entry), manifest: reading, known: of as { manifest: Manifest } | undefined };
    expect(factsOf(checkUnmade('E:', { ...survey, facts: stick }, sound))).toEqual([expected]);
  });

  it('says what stops the preparation that it is sent to, and that this comes first', () => {
    const survey = { entries: [entry('SW-PART.TMP/')], manifest: none, known: undefined, facts: stick };
    const damaged = { ...sound, flaws: [flaw('root-damaged', { problem: 'its chain is cut' })] };
    expect(factsOf(checkUnmade('E:', survey, damaged))).toEqual([
      ['medium/root-damaged', { problem: 'its chain is cut' }],
      ['returned/preparation-unfinished', { isStopped: true }],
    ]);
  });

  it('says what hides a part of it as well', () => {
    const entries = [{ ...entry('photos/'), isMount: true as const }];
    expect(
      checkUnmade('E:', { entries, manifest: none, known: undefined, facts: stick }, sound).map(({ code }) => code),
    ).toEqual(['stick/mount-inside', 'verify/not-prepared']);
  });
});

describe('the firmware of a stick that came back', { tags: ['doubt-stays'] }, () => {
  const verified = (...findings: readonly Finding[]) => ({ findings, filesRead: 2 });
  const back = (read: Parameters<typeof checkFirmwareBack>[2]) => factsOf(checkFirmwareBack('E:', manifest, read));
  const unchanged = ['returned/unchanged', { files: '2 firmware files' }];

  it('is said to be what it was where all of it was read and nothing speaks against it', () => {
    expect(back(verified())).toEqual([unchanged]);
    expect(back({ findings: [], filesRead: 1 })).toEqual([]);
    const sizes = { what: 'size', expected: '1', got: '2' } as const;
    for (const found of [
      finding('verify/missing', 'boot.pkg', { bytes: 10 }),
      finding('verify/changed', 'boot.pkg', sizes),
      finding('verify/unreadable', 'boot.pkg', { problem: 'EIO' }),
    ])
      expect(back(verified(found))).toEqual([[found.code, found.facts]]);
  });

  it('is told in the words of a stick that comes back, and once', () => {
    const paths = { paths: ['x'] };
    const elsewhere = [
      finding('verify/unexpected', 'E:', paths),
      finding('verify/visited-a-panel', 'E:', paths),
      finding('verify/system-junk', 'E:', paths),
      finding('verify/root-not-empty', 'E:', paths),
      finding('verify/replugged', 'E:'),
    ];
    expect(back(verified(...elsewhere))).toEqual([unchanged]);
    expect(back(verified(finding('verify/read-from-cache', 'E:')))[0]).toEqual(['verify/read-from-cache', {}]);
    expect(back(verified(finding('stick/needs-repair', 'E:', { codes: ['medium/chain-short'] })))[0]).toEqual([
      'returned/damaged',
      { codes: ['medium/chain-short'] },
    ]);
  });
});

describe('what becomes of a stick that came back, and the one word for it', { tags: ['doubt-stays'] }, () => {
  const paths = { paths: ['x'] };
  const worn = finding('verify/unreadable', 'x', { problem: 'EIO' });
  const unfinished = finding('returned/clearing-unfinished', 'E:', { files: 1 });
  const visited = finding('returned/visited', 'E:', paths);
  test.each([
    ['nothing', [], 'go-again', 'unchanged'],
    ['only notes', [visited], 'go-again', 'visited'],
    ['a doubt', [finding('verify/read-from-cache', 'E:')], 'not-proven', 'unchanged'],
    [
      'a stop',
      [finding('verify/missing', 'x', { bytes: 1 }), finding('verify/read-from-cache', 'E:')],
      'prepare-anew',
      'changed',
    ],
    ['a stop beside a visit', [visited, finding('returned/twins', 'E:', paths)], 'prepare-anew', 'changed'],
    [
      'a clearing that was cut off',
      [unfinished, finding('verify/missing', 'x', { bytes: 1 })],
      'finish-clearing',
      'changed',
    ],
    ['a read error, whatever else', [unfinished, worn, visited], 'retire', 'unreadable'],
  ] as const)('%s', (_, findings, conclusion, state) => {
    expect([conclude(findings), stateOf(findings)]).toEqual([conclusion, state]);
  });

  test.each(['verify/unreadable', 'returned/not-readable'] as const)('%s is wear', (code) => {
    expect(conclude([finding(code, 'x', { problem: 'EIO' })])).toBe('retire');
  });

  test.each(['unreadable-sectors', 'errors-recorded', 'bad-clusters', 'exfat-media-failure'] as const)(
    'of the medium, %s is wear',
    (kind) => {
      const found = { code: `medium/${kind}` as const, subject: 'E:', facts: {} };
      expect([conclude([found]), stateOf([found])]).toEqual(['retire', 'unreadable']);
    },
  );
});

describe('clearing a stick', { tags: ['nobodys-files-vanish'] }, () => {
  const drive = { removable: true, usb: true, device: '/dev/sdz' };
  const medium = (flaws: readonly Flaw[], ofMedium: readonly Flaw[] = []) =>
    ({ flaws: ofMedium, volumes: [{ audited: true, flaws }] }) as unknown as MediumFacts;
  const sound = medium([]);
  const ask = (more: Partial<Parameters<typeof checkClearing>[0]> & { facts?: Partial<StickFacts> } = {}) => {
    const facts = { ...stick, drive, ...more.facts } as StickFacts;
    const question = {
      entries: prepared.map(entry),
      toolFolder: 'stickwright',
      medium: sound,
      agreed: false,
      isWorn: false,
    };
    return factsOf(checkClearing({ ...question, ...more, stick: facts }));
  };
  const names = (...paths: readonly string[]) => ({ count: paths.length, paths });
  const shared = ([first, second]: readonly [string, string], count = 1) =>
    flaw('cross-linked', { count, paths: [second], pairs: [{ first, second, alike: true }] });

  it('of a sound one has nothing against it', () => {
    expect([ask(), ask({ medium: undefined, facts: { kind: 'folder', dirty: true } })]).toEqual([[], []]);
    expect([...checkWorn('E:', false), ...checkIsOurs('E:', true), ...checkCleared('E:', [])]).toEqual([]);
  });

  it('is not for one that fails, that is nobody’s known, or that holds on', () => {
    expect(ask({ isWorn: true })).toEqual([['returned/too-worn-to-clear', {}]]);
    expect(factsOf(checkIsOurs('E:', false))).toEqual([['returned/nothing-to-clear', {}]]);
    expect(factsOf(checkCleared('E:', ['x']))).toEqual([['returned/not-removed', { paths: ['x'] }]]);
  });

  it('is not for one that is being prepared, that is no stick, or that hides something', () => {
    for (const path of ['SW-PART.TMP/', 'SW-DONE.TMP/'])
      expect(ask({ entries: [entry(path)] })).toEqual([['returned/preparation-unfinished', { isStopped: false }]]);
    expect(ask({ entries: [entry('stickwright/'), entry('stickwright/MANIFEST.OLD')] })).toEqual([]);
    expect(ask({ facts: { kind: 'device', drive: { ...drive, usb: false } as StickFacts['drive'] } })[0]?.[0]).toBe(
      'stick/not-a-removable-drive',
    );
    expect(ask({ entries: [{ ...entry('x/'), isMount: true }] })[0]?.[0]).toBe('stick/mount-inside');
  });

  test.each<readonly [string, Flaw, readonly unknown[]]>([
    ['files that share clusters', shared(['/a.txt', '/b.txt']), ['b.txt', 'a.txt']],
    ['a file of the record and another', shared(['/b.txt', '/stickwright/x']), ['b.txt']],
    ['another and a file of the record', shared(['/stickwright/x', '/b.txt']), ['b.txt']],
    ['more than are named', shared(['/stickwright/x', '/stickwright/y'], 3), ['cross-linked']],
    [
      'a long path, of which the end is kept',
      flaw('name-duplicate', names('of a folder/a.txt')),
      ['of a folder/a.txt'],
    ],
    ['the tables', flaw('fat-entries-invalid', { count: 1 }), ['fat-entries-invalid']],
    ['the root', flaw('root-damaged', { problem: 'x' }), ['root-damaged']],
  ])('is not for one that must be repaired first: %s', (_, found, what) => {
    expect(ask({ medium: medium([found]) })).toEqual([['returned/repair-first', { what }]]);
  });

  it('is for one where only the record stands under two names, and where nothing dangerous is wrong', () => {
    const twice = medium([flaw('name-duplicate', names('/stickwright/x'))]);
    expect([ask({ medium: twice }), ask({ medium: twice, facts: { kind: 'folder' } })]).toEqual([[], []]);
    const ofRecord = medium([shared(['/stickwright/x', '/stickwright/y'])]);
    expect(ask({ medium: ofRecord })).toEqual([]);
    // Linux's vfat stops at the second one.
    expect(ask({ medium: ofRecord, facts: { kind: 'folder' } })).toEqual([
      ['returned/repair-first', { what: ['cross-linked'] }],
    ]);
    expect(ask({ medium: medium([flaw('lost-clusters', { clusters: 1, bytes: 512 })]) })).toEqual([]);
  });

  it('settles the mark of an unclean pull where all that a repair looks at is sound', () => {
    const dirty = { ...stick, dirty: true } as StickFacts;
    expect(canSettleMark(dirty, sound)).toBe(true);
    expect(canSettleMark(dirty, medium([flaw('dirty'), flaw('fsinfo-free-wrong', { stated: 1, counted: 2 })]))).toBe(
      true,
    );
    expect(ask({ facts: { dirty: true } })).toEqual([]);
    expect(canSettleMark({ ...dirty, dirty: false }, sound)).toBe(false);
    expect(canSettleMark({ ...dirty, kind: 'folder' }, sound)).toBe(false);
    expect(canSettleMark(dirty, undefined)).toBe(false);
    expect(canSettleMark(dirty, medium([flaw('lost-clusters', { clusters: 1, bytes: 512 })]))).toBe(false);
    expect(canSettleMark(dirty, medium([], [flaw('unreadable-sectors', { sectors: 1, firstSector: 0 })]))).toBe(false);
    const twoVolumes = { flaws: [], volumes: [sound.volumes[0], sound.volumes[0]] } as unknown as MediumFacts;
    expect(canSettleMark(dirty, twoVolumes)).toBe(false);
    const unread = { flaws: [], volumes: [{ audited: false, flaws: [] }] } as unknown as MediumFacts;
    expect(canSettleMark(dirty, unread)).toBe(false);
    const other = { flaws: [], volumes: [...sound.volumes, ...unread.volumes] } as unknown as MediumFacts;
    expect(canSettleMark(dirty, other)).toBe(true);
  });

  it('and preparing it wait for a repair where the mark must stay', () => {
    const lost = medium([flaw('lost-clusters', { clusters: 1, bytes: 512 })]);
    expect(ask({ facts: { dirty: true }, medium: lost })).toEqual([['returned/repair-before-preparing', {}]]);
    const both = medium([flaw('fat-entries-invalid', { count: 1 })]);
    expect(ask({ facts: { dirty: true }, medium: both }).map(([code]) => code)).toEqual(['returned/repair-first']);
  });
});

describe('the plan of a clearing, line by line', { tags: ['nobodys-files-vanish'] }, () => {
  const plan = (entries: readonly string[], more: Partial<Parameters<typeof planClearing>[0]> = {}) => {
    const { steps, kept, stays, freedBytes } = planClearing({
      ...{ sorted: sort(entries), manifestAt: 'stickwright/manifest.json', toolFolder: 'stickwright' },
      ...{ changed: new Set<string>(), keepsLeft: false, settlesDirtyMark: false },
      ...more,
    });
    return {
      steps: steps.map((step) =>
        step.map(({ action, path, to, changed }) =>
          [action, path, ...(to === undefined ? [] : ['>', to]), ...(changed ? ['(changed)'] : [])].join(' '),
        ),
      ),
      kept: kept.map(({ path }) => path),
      stays: stays.map(({ path, bytes }) => `${path} ${bytes}`),
      freedBytes,
    };
  };
  const old = 'stickwright/MANIFEST.OLD';

  it('takes what is its own, a step at a time, and names what stays once', () => {
    const list = 'stickwright/checksums.sha256';
    expect(plan([...prepared, list, old, ...stayed, 'LOST.DIR/', 'last_log', 'images/mine.txt'])).toEqual({
      steps: [
        [`remove ${old}`],
        [`withdraw stickwright/manifest.json > ${old}`],
        ['remove boot.pkg', 'remove images/a.img'],
        ['remove LOST.DIR'],
        [`remove ${list}`],
        [`remove ${old}`],
        ['remove stickwright'],
      ],
      kept: [],
      stays: ['letters 20', 'photos 10', 'last_log 10', 'images/mine.txt 10'],
      freedBytes: 10 * 5,
    });
  });

  it('takes what a panel left where a copy of it is kept, and a firmware file that is another one now', () => {
    expect(
      plan([...prepared, 'last_log', 'Android/', 'Android/x'], { keepsLeft: true, changed: new Set(['boot.pkg']) }),
    ).toEqual({
      steps: [
        [`withdraw stickwright/manifest.json > ${old}`],
        ['remove boot.pkg (changed)', 'remove images/a.img', 'remove last_log', 'remove Android/x'],
        ['remove Android', 'remove images'],
        [`remove ${old}`],
        ['remove stickwright'],
      ],
      kept: ['boot.pkg', 'last_log', 'Android/x'],
      stays: [],
      freedBytes: 10 * 5,
    });
    expect(plan([...prepared], { changed: new Set(['boot.pkg']) }).kept).toEqual([]);
  });

  it('goes on with a record that was withdrawn, and with the empty folder that is left at last', () => {
    const entries = ['images/', 'images/a.img', 'stickwright/', old, 'stickwright/seal.json'];
    expect(plan(entries, { manifestAt: old }).steps).toEqual([
      ['remove images/a.img'],
      ['remove images'],
      ['remove stickwright/seal.json'],
      [`remove ${old}`],
      ['remove stickwright'],
    ]);
    const sorted = sortReturned(['stickwright/', 'me.jpg'].map(entry), undefined, 'stickwright');
    expect(plan([], { sorted, manifestAt: undefined })).toMatchObject({
      steps: [['remove stickwright']],
      stays: ['me.jpg 10'],
    });
  });
});
