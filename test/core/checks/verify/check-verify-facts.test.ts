import { describe, expect, it, test } from 'vitest';
import { unnamedFiles } from '../../../../src/core/checks/verify/check-firmware.ts';
import { checkLabel } from '../../../../src/core/checks/verify/check-label.ts';
import {
  type BesideManifest,
  checkVerifyFacts,
  type VerifyFacts,
} from '../../../../src/core/checks/verify/check-verify-facts.ts';
import type { Finding } from '../../../../src/core/findings/finding.ts';
import { isUnfinishedWork, sealPath } from '../../../../src/core/manifest/stick-names.ts';
import type { Manifest2 } from '../../../../src/core/model/manifest.ts';
import type { FileGlance, StickEntry, StickFacts } from '../../../../src/core/model/stick-facts.ts';
import type { MediumFacts } from '../../../../src/core/volume-format/audit/flaw.ts';

const zeros = '0'.repeat(64);
const manifest = {
  schema: 'stickwright/manifest/2',
  stick: 'ACD-479',
  tool: { name: 'stickwright', version: '0.2.0' },
  mode: 'recovery',
  keepsData: true,
  label: { text: 'K2-second 75/5B', normalised: 'K2-second 75/5B', parts: null },
  family: null,
  archive: { name: 'reed.zip', bytes: 1, sha256: zeros, directorySha256: zeros, build: null, parts: null, agree: [] },
  files: ['boot.pkg', 'images/a.img'].map((path) => ({ path, bytes: 600, sha256: zeros })),
  folders: ['images', 'images/empty'],
  untouched: [
    { path: 'letters', bytes: 15 },
    { path: 'me.jpg', bytes: 10 },
  ],
  setAside: [{ path: 'old.zip', to: 'set-aside-20261102T073000Z/in/old.zip.set-aside' }],
  volume: { fileSystem: 'fat32', serial: '1234-ABCD' },
  overrides: [],
  unproven: [],
  record: [{ path: 'stickwright/checksums.sha256', bytes: 90, sha256: zeros }],
  sealedBy: null,
} as unknown as Manifest2;

/** `path`, `path/` for a folder, `path 700` for a file of so many bytes; others have 10. */
const entry = (text: string): StickEntry => {
  const [path = '', bytes = '10'] = text.split(' ');
  return path.endsWith('/')
    ? { path: path.slice(0, -1), kind: 'folder', bytes: 0 }
    : { path, kind: 'file', bytes: Number(bytes) };
};
const prepared = [
  'boot.pkg 600',
  'images/',
  'images/a.img 600',
  'images/empty/',
  'letters/',
  'letters/a.txt 5',
  'letters/b.txt 10',
  'me.jpg',
  'set-aside-20261102T073000Z/',
  'set-aside-20261102T073000Z/in/',
  'set-aside-20261102T073000Z/in/old.zip.set-aside',
  'stickwright/',
  'stickwright/manifest.json 900',
  'stickwright/checksums.sha256 90',
];
const stick = {
  target: 'E:',
  kind: 'image',
  fileSystem: 'fat32',
  volumeSerial: '1234-ABCD',
  dirty: false,
  otherVolumes: { from: 'sectors', volumes: [] },
} as unknown as StickFacts;
const soundMedium = { volumes: [], flaws: [] } as unknown as MediumFacts;
const second = { where: 'listed', number: 'E:2', fileSystem: 'exfat', bytes: 1e9 } as const;
const glance = (more: Partial<FileGlance> = {}): FileGlance => ({
  ...{ image: undefined, names: [], inner: [], whole: true },
  ...more,
});

interface Change {
  readonly stick?: Partial<StickFacts>;
  readonly entries?: readonly StickEntry[];
  readonly manifest?: Partial<Manifest2>;
  readonly beside?: Partial<Omit<BesideManifest, 'manifest'>>;
  readonly facts?: Partial<VerifyFacts>;
}

/** What is said of a stick that is sound but for CHANGE. */
function said(change: Change = {}): readonly Finding[] {
  const whole = { ...manifest, ...change.manifest } as Manifest2;
  const beside: BesideManifest = {
    manifest: whole,
    glances: new Map(),
    mode: undefined,
    ofLabel: [],
    record: whole.record,
    seal: {
      ...{ reading: { state: 'none' }, isSound: false, sealedBy: undefined },
      ...{ named: null, trusted: { publicKey: 'ours', name: 'OURS' } },
    },
    content: { differing: [], fromCache: false, replugged: false },
    ...change.beside,
  };
  return checkVerifyFacts({
    target: 'E:',
    stick: { ...stick, ...change.stick },
    entries: change.entries ?? prepared.map(entry),
    reading: { state: 'whole', manifest: whole },
    medium: soundMedium,
    lastMode: whole.mode,
    isSettled: true,
    isStillSettled: true,
    beside,
    ...change.facts,
  }).filter(({ code }) => code !== 'verify/seal-missing');
}
const told = (change: Change) => said(change).map(({ code, facts }) => [code, facts]);
const without = (path: string) => prepared.filter((text) => !text.startsWith(path)).map(entry);
const withMore = (...texts: readonly string[]) => [...prepared, ...texts].map(entry);

it('what the sectors say is told by the mode that the stick was made for', () => {
  const medium = {
    flaws: [{ kind: 'gpt-leftover', detail: { where: 'start' } }],
    volumes: [],
  } as unknown as MediumFacts;
  const of = (mode: Manifest2['mode']) =>
    said({ facts: { medium }, manifest: { mode } }).map(({ code, subject }) => [code, subject]);
  expect(of('recovery')).toEqual([['medium/gpt-leftover', 'E:']]);
  expect(of('in-os')).toEqual([['medium/gpt-leftover-for-os', 'E:']]);
});

it('of a stick that is as its record says there is nothing to say', () => {
  expect(said()).toEqual([]);
});

describe('what lies on it', { tags: ['ready-means-read-back', 'nobodys-files-vanish'] }, () => {
  test.each<readonly [string, readonly StickEntry[], readonly unknown[]]>([
    ['a file is gone', without('boot.pkg'), [['verify/missing', { bytes: 600 }]]],
    [
      'a file has another size',
      [...without('boot.pkg'), entry('boot.pkg 601')],
      [['verify/changed', { what: 'size', expected: '600', got: '601' }]],
    ],
    [
      'a link has the name of a file',
      [...without('boot.pkg'), { ...entry('boot.pkg 600'), odd: 'link' }],
      [
        ['stick/links', { paths: ['boot.pkg'] }],
        ['verify/missing', { bytes: 600 }],
      ],
    ],
    ['a file came', withMore('new.txt'), [['verify/unexpected', { paths: ['new.txt'] }]]],
    [
      'a file has the name of a folder of what was set aside',
      [...without('set-aside-20261102T073000Z/in'), entry('set-aside-20261102T073000Z/in')],
      [['verify/unexpected', { paths: ['set-aside-20261102T073000Z/in'] }]],
    ],
    ['a repair left what it found', withMore('FOUND.000/'), [['verify/system-junk', { paths: ['FOUND.000'] }]]],
    [
      'a folder has the name of a part of the record',
      [...without('stickwright/checksums.sha256'), entry('stickwright/checksums.sha256/')],
      [
        ['verify/unexpected', { paths: ['stickwright/checksums.sha256'] }],
        ['verify/record-changed', { got: 'missing' }],
      ],
    ],
    ['a folder came', withMore('new/', 'new/a.txt'), [['verify/unexpected', { paths: ['new'] }]]],
    [
      'something came beside the firmware',
      withMore('images/b.img'),
      [['verify/unexpected', { paths: ['images/b.img'] }]],
    ],
    [
      'something came into the record’s folder',
      withMore('stickwright/diary.txt'),
      [['verify/unexpected', { paths: ['stickwright/diary.txt'] }]],
    ],
    ['a seal is the record’s', withMore(sealPath), []],
    [
      'a file has the name of a folder',
      [...without('images/empty'), entry('images/empty')],
      [['verify/unexpected', { paths: ['images/empty'] }]],
    ],
    [
      'a folder has the name of a file',
      [...without('boot.pkg'), entry('boot.pkg/')],
      [
        ['verify/missing', { bytes: 600 }],
        ['verify/unexpected', { paths: ['boot.pkg'] }],
      ],
    ],
    [
      'what stayed is larger',
      [...without('me.jpg'), entry('me.jpg 11')],
      [['verify/unexpected', { paths: ['me.jpg'] }]],
    ],
    [
      'in a folder that stayed there is more',
      withMore('letters/c.txt 1'),
      [['verify/unexpected', { paths: ['letters'] }]],
    ],
    [
      'something was put to what was set aside',
      withMore('set-aside-20261102T073000Z/new.txt', 'set-aside-20261102T073000Z/in/new.zip'),
      [
        [
          'verify/unexpected',
          { paths: ['set-aside-20261102T073000Z/new.txt', 'set-aside-20261102T073000Z/in/new.zip'] },
        ],
      ],
    ],
    [
      'a panel and a desk left something',
      withMore('LOST.DIR/', 'LOST.DIR/1', '.fseventsd/', 'images/.DS_Store', 'images/LOST.DIR/'),
      [
        ['verify/unexpected', { paths: ['images/LOST.DIR'] }],
        ['verify/visited-a-panel', { paths: ['LOST.DIR'] }],
        ['verify/system-junk', { paths: ['.fseventsd', 'images/.DS_Store'] }],
      ],
    ],
    [
      'the list beside the record is gone',
      without('stickwright/checksums'),
      [['verify/record-changed', { got: 'missing' }]],
    ],
    [
      'the list beside the record has another size',
      [...without('stickwright/checksums'), entry('stickwright/checksums.sha256 91')],
      [['verify/record-changed', { got: 'size' }]],
    ],
  ])('%s', (_, entries, expected) => {
    expect(told({ entries })).toEqual(expected);
  });

  it('is told anew to a panel that wants its root to itself', () => {
    const entries = withMore('LOST.DIR/', '.fseventsd/', 'images/.DS_Store');
    const family = { onlyTheseAtRoot: true } as Manifest2['family'];
    expect(told({ entries, manifest: { family } }).at(-1)).toEqual([
      'verify/root-not-empty',
      { paths: ['LOST.DIR', '.fseventsd'] },
    ]);
    expect(told({ manifest: { family } })).toEqual([]);
    expect(told({ entries, manifest: { family: { onlyTheseAtRoot: false } as Manifest2['family'] } })).toHaveLength(2);
  });
});

describe('the record', () => {
  const none = { beside: undefined };
  test.each<readonly [string, Partial<VerifyFacts>, readonly unknown[]]>([
    ['is not there', { reading: { state: 'none' }, entries: [] }, [['verify/not-prepared', {}]]],
    [
      'is not there, and work is unfinished',
      { reading: { state: 'none' }, entries: [entry('me.jpg'), entry('SW-DONE.TMP/')] },
      [['verify/unfinished', { folder: 'SW-DONE.TMP', isStopped: false }]],
    ],
    [
      'is broken',
      { reading: { state: 'broken', problem: 'it is not JSON' } },
      [['verify/manifest-broken', { problem: 'it is not JSON' }]],
    ],
    [
      'is of a later version',
      { reading: { state: 'newer', schema: 'stickwright/manifest/9' } },
      [['verify/manifest-newer', { schema: 'stickwright/manifest/9' }]],
    ],
  ])('%s', (_, facts, expected) => {
    expect(told({ facts: { ...facts, ...none } })).toEqual(expected);
    expect(isUnfinishedWork('SW-DONE.TMP')).toBe(true);
  });

  it('is not there, and what the sectors say stops whoever would finish the work', () => {
    const medium = {
      volumes: [],
      flaws: [
        { kind: 'root-damaged', detail: { problem: 'its chain is cut' } },
        { kind: 'gpt-leftover', detail: { where: 'start' } },
      ],
    } as unknown as MediumFacts;
    const unmade = { ...none, medium, reading: { state: 'none' }, entries: [entry('SW-DONE.TMP/')] } as const;
    const unfinished = ['verify/unfinished', { folder: 'SW-DONE.TMP', isStopped: true }];
    const root = ['medium/root-damaged', { problem: 'its chain is cut' }];
    expect(told({ facts: { ...unmade, lastMode: undefined } })).toEqual([root, unfinished]);
    const atBoot = told({ facts: { ...unmade, lastMode: 'recovery' } }).map(([code]) => code);
    expect(atBoot).toEqual(['medium/root-damaged', 'medium/gpt-leftover', 'verify/unfinished']);
  });

  it('says what a person decided, what nobody could prove, and which version wrote it', () => {
    const overrides = [{ code: 'stick/name-taken', subject: 'x', because: 'the maker says so' }];
    const unproven = [{ code: 'archive/no-published-hash', subject: 'reed.zip' }];
    expect(
      said({ manifest: { overrides, unproven, keepsData: false } }).map(({ code, subject, facts }) => [
        code,
        subject,
        facts,
      ]),
    ).toEqual([
      ['verify/wipes-the-panel', 'E:', { mode: 'recovery' }],
      ['verify/override', 'x', { code: 'stick/name-taken', because: 'the maker says so' }],
      ['verify/was-unproven', 'reed.zip', { code: 'archive/no-published-hash' }],
    ]);
    const first = { schema: 'stickwright/manifest/1' } as unknown as Partial<Manifest2>;
    expect(told({ manifest: first })).toEqual([
      ['verify/older-manifest', { schema: 'stickwright/manifest/1', version: '0.2.0' }],
    ]);
  });

  it('is of one mode, and says what the other would do', () => {
    expect(told({ beside: { mode: 'recovery' } })).toEqual([['verify/same-mode', { mode: 'recovery' }]]);
    for (const keepsData of [true, false])
      expect(told({ beside: { mode: 'in-os' }, manifest: { keepsData } })[0]).toEqual([
        'verify/other-mode',
        { prepared: 'recovery', asked: 'in-os', wipes: !keepsData },
      ]);
  });

  const key = { publicKey: 'ours', name: 'OURS' };
  const seal = (publicKey: string) => ({ state: 'whole', seal: { publicKey } }) as BesideManifest['seal']['reading'];
  const asked = { isSound: true, sealedBy: 'OURS', named: 'OURS', trusted: key };
  test.each<readonly [string, BesideManifest['seal'], string, unknown]>([
    ['of the desk that is trusted', { ...asked, reading: seal('ours') }, 'verify/sealed', { name: 'OURS' }],
    ['whose signature is wrong', { ...asked, isSound: false, reading: seal('ours') }, 'verify/seal-broken', {}],
    ['that is none', { ...asked, reading: { state: 'broken' } }, 'verify/seal-broken', {}],
    ['that is gone', { ...asked, reading: { state: 'none' } }, 'verify/seal-removed', { name: 'OURS' }],
    [
      'that another one took the place of',
      { ...asked, sealedBy: 'THEIRS', reading: seal('theirs') },
      'verify/seal-broken',
      {},
    ],
    [
      'where its version does not name one',
      { ...asked, named: undefined, reading: seal('ours') },
      'verify/sealed',
      { name: 'OURS' },
    ],
    ['where it says that it has none', { ...asked, named: null, reading: seal('ours') }, 'verify/seal-broken', {}],
    [
      'that nobody asked for',
      { ...asked, trusted: undefined, reading: seal('ours') },
      'verify/seal-not-asked',
      { sealedBy: 'OURS' },
    ],
    [
      'of another desk',
      { ...asked, sealedBy: 'THEIRS', named: 'THEIRS', reading: seal('theirs') },
      'verify/sealed-by-another',
      { wanted: 'OURS', got: 'THEIRS' },
    ],
    [
      'that there is none of',
      { ...asked, isSound: false, sealedBy: undefined, named: null, reading: { state: 'none' } },
      'verify/seal-missing',
      { wanted: 'OURS' },
    ],
  ])('has a seal %s', (_, facts, code, expected) => {
    const target = 'E:';
    const findings = checkVerifyFacts({
      ...{ target, stick, entries: prepared.map(entry), isSettled: true, isStillSettled: true },
      ...{ medium: soundMedium, lastMode: manifest.mode },
      reading: { state: 'whole', manifest },
      beside: {
        ...{ manifest, glances: new Map() },
        ...{ mode: undefined, ofLabel: [], record: manifest.record, seal: facts },
        content: { differing: [], fromCache: false, replugged: false },
      },
    });
    expect(findings).toEqual([{ code, subject: target, facts: expected }]);
  });
});

describe('the volume', () => {
  test.each<readonly [string, Partial<StickFacts>, readonly unknown[]]>([
    [
      'is of another kind',
      { fileSystem: 'fat16' },
      [['verify/file-system-differs', { expected: 'fat32', got: 'fat16' }]],
    ],
    ['is of a kind that nobody tells', { fileSystem: 'unknown' }, []],
    [
      'has another serial',
      { volumeSerial: '1234-ABCE' },
      [['verify/other-volume', { expected: '1234-ABCD', got: '1234-ABCE' }]],
    ],
    ['has a serial that nobody tells', { volumeSerial: undefined }, []],
    ['was pulled while somebody wrote', { dirty: true }, [['verify/not-ejected', {}]]],
    ['is mounted, and so is marked', { dirty: true, kind: 'folder' }, []],
    [
      'is not alone on its stick',
      { otherVolumes: { from: 'sectors', volumes: [second] } },
      [['stick/several-volumes', { others: [second] }]],
    ],
  ])('%s', (_, changed, expected) => {
    expect(told({ stick: changed })).toEqual(expected);
  });

  it('of which the record said nothing is compared with nothing', () => {
    const volume = { ...manifest.volume, fileSystem: 'unknown', serial: null };
    expect(told({ manifest: { volume } })).toEqual([]);
  });

  it('that is not alone is told once where a person accepted it: by the record, with the reason', () => {
    const otherVolumes = { from: 'sectors', volumes: [second] } as const;
    const overrides = [{ code: 'stick/several-volumes', subject: 'E:', because: 'it is ours' }];
    expect(told({ stick: { otherVolumes }, manifest: { overrides } })).toEqual([
      ['verify/override', { code: 'stick/several-volumes', because: 'it is ours' }],
    ]);
  });

  test.each([
    [true, true, 0],
    [false, false, 1],
    [false, true, 1],
    [true, false, 1],
  ])(
    'had all on the medium at first (%s) and still (%s): due to be ejected %i times',
    (isSettled, isStillSettled, times) => {
      const codes = said({ facts: { isSettled, isStillSettled } }).map(({ code }) => code);
      expect(codes).toEqual(Array(times).fill('stick/eject-due'));
    },
  );
});

describe('what was read', { tags: ['doubt-stays'] }, () => {
  const [boot] = manifest.files;
  const [list] = manifest.record;
  if (boot === undefined || list === undefined) throw new Error('both are there');
  const content = (more: object) => ({ content: { differing: [], fromCache: false, replugged: false, ...more } });
  test.each<readonly [string, Partial<BesideManifest>, readonly unknown[]]>([
    ['nothing', { content: undefined }, [['verify/content-not-read', {}]]],
    ['out of the computer’s memory', content({ fromCache: true }), [['verify/read-from-cache', {}]]],
    ['so, but it was out in between', content({ fromCache: true, replugged: true }), [['verify/replugged', {}]]],
    ['from the medium', content({ replugged: true }), []],
    [
      'other bytes',
      content({ differing: [{ file: boot, seen: { state: 'other', sha256: 'ff' } }] }),
      [['verify/changed', { what: 'content', expected: zeros, got: 'ff' }]],
    ],
    [
      'other bytes of the list',
      content({ differing: [{ file: list, seen: { state: 'other', sha256: 'ff' } }] }),
      [['verify/record-changed', { got: 'content' }]],
    ],
    [
      'not all of it',
      content({ differing: [{ file: boot, seen: { state: 'unreadable', problem: 'EIO' } }] }),
      [['verify/unreadable', { problem: 'EIO' }]],
    ],
    [
      'nothing, for it went in between',
      content({ differing: [{ file: boot, seen: { state: 'gone' } }] }),
      [['verify/missing', { bytes: 600 }]],
    ],
  ])('%s', (_, beside, expected) => {
    expect(told({ beside })).toEqual(expected);
  });
});

describe('what a panel could take for firmware', { tags: ['read-alike-by-all'] }, () => {
  const update = glance({ names: ['payload.bin'] });
  const sign = 'an Android update package';
  const folder = 'set-aside-20261102T073000Z';
  const look = (glances: Readonly<Record<string, FileGlance>>, more: Partial<Manifest2> = {}) =>
    said({ beside: { glances: new Map(Object.entries(glances)) }, manifest: more })
      .filter(({ code }) => code !== 'verify/unexpected')
      .map(({ code, facts, acceptedBecause: why }) => [code, facts, ...(why === undefined ? [] : [why])]);
  const inside = (...paths: readonly string[]) => ({ found: paths.map((path) => ({ path, sign })) });
  const overrides = [{ code: 'stick/firmware-inside', subject: 'x', because: 'the maker says so' }];

  test.each<readonly [string, Readonly<Record<string, FileGlance>>, Partial<Manifest2>, readonly unknown[]]>([
    ['nothing', { 'letters/a.txt': glance() }, {}, []],
    ['in what stayed', { 'letters/a.txt': update }, {}, [['verify/firmware-inside', inside('letters/a.txt')]]],
    [
      'in what stayed, as a person accepted',
      { 'letters/a.txt': update },
      { overrides },
      [
        ['verify/firmware-inside', inside('letters/a.txt'), 'the maker says so'],
        ['verify/override', { code: 'stick/firmware-inside', because: 'the maker says so' }],
      ],
    ],
    [
      'in what stayed, as a person accepted in other words, and in what came later',
      { 'letters/a.txt': update, 'new.dat': update },
      { overrides: [{ code: 'stick/other-firmware', subject: 'x', because: 'the maker says so' }] },
      [
        ['verify/firmware-inside', inside('new.dat')],
        ['verify/firmware-inside', inside('letters/a.txt'), 'the maker says so'],
        ['verify/override', { code: 'stick/other-firmware', because: 'the maker says so' }],
      ],
    ],
    [
      'in what a person accepted for another reason',
      { 'letters/a.txt': update },
      { overrides: [{ code: 'stick/dirty', subject: 'x', because: 'so' }] },
      [
        ['verify/firmware-inside', inside('letters/a.txt')],
        ['verify/override', { code: 'stick/dirty', because: 'so' }],
      ],
    ],
    [
      'what was set aside, under the name that it got',
      { [`${folder}/in/old.zip.set-aside`]: update },
      {},
      [['verify/firmware-set-aside', { paths: [`${folder}/in/old.zip.set-aside`] }]],
    ],
    [
      'what was set aside, under its own name',
      { [`${folder}/in/old.zip`]: update },
      { setAside: [{ path: 'old.zip', to: `${folder}/in/old.zip` }] },
      [['verify/firmware-aside-by-name', inside(`${folder}/in/old.zip`)]],
    ],
    [
      'what somebody put to it, under such a name',
      { 'set-aside-20260101T000000Z/x.set-aside': update },
      {},
      [['verify/firmware-inside', inside('set-aside-20260101T000000Z/x.set-aside')]],
    ],
    [
      'what an earlier preparation set aside, and what stayed then',
      { 'set-aside-20250101T000000Z/x.set-aside': update },
      { untouched: [...manifest.untouched, { path: 'set-aside-20250101T000000Z', bytes: 10 }] },
      [['verify/firmware-set-aside', { paths: ['set-aside-20250101T000000Z/x.set-aside'] }]],
    ],
    [
      'in what stayed and in what came later, and nobody accepted any',
      { 'letters/a.txt': update, 'new.dat': update },
      {},
      [['verify/firmware-inside', inside('letters/a.txt', 'new.dat')]],
    ],
    [
      'nobody knows, for it could not be looked into',
      { 'letters/a.txt': glance({ whole: false }) },
      {},
      [['verify/not-looked-into', { paths: ['letters/a.txt'] }]],
    ],
  ])('%s', (_, glances, more, expected) => {
    expect(look(glances, more)).toEqual(expected);
  });

  it('is looked for in every file that the record does not name, and in no other', () => {
    const odd = { ...entry('pipe'), odd: 'special' as const };
    const paths = unnamedFiles(manifest, [...prepared.map(entry), entry('new/x'), odd]).map(({ path }) => path);
    expect(paths).toEqual([
      'letters/a.txt',
      'letters/b.txt',
      'me.jpg',
      'set-aside-20261102T073000Z/in/old.zip.set-aside',
      'new/x',
    ]);
  });
});

describe('a label at the panel', () => {
  const pattern = '^(?<factory>K\\d)-(?<size>\\d{2})$';
  const family = { label: { pattern, absent: {} } } as unknown as Manifest2['family'];
  const archive = { ...manifest.archive, parts: { factory: 'K2' }, agree: ['factory'] };
  const label = { text: 'k2–75', normalised: 'k2-75', parts: null };
  const ask = (asked: string, more: Partial<Manifest2> = { family, archive }) =>
    checkLabel(asked, { ...manifest, label, ...more } as Manifest2).map(({ code, facts }) => [code, facts]);
  const both = (asked: string) => ({ prepared: 'k2–75', asked });

  it('is the one, in any case and with any dash', () => {
    expect(ask('K2\u201175')).toEqual([['verify/same-label', { text: 'k2–75' }]]);
    expect(ask('K2-75', {})).toEqual([['verify/same-label', { text: 'k2–75' }]]);
  });

  it('is another one that the package serves, or does not, and in what', () => {
    expect(ask('K2-86')).toEqual([['verify/label-also-served', both('K2-86')]]);
    expect(ask('K3-86')).toEqual([
      ['verify/other-label', { ...both('K3-86'), parts: ['factory (stick K2, asked K3)'] }],
    ]);
    const more = { ...archive, parts: { factory: 'K2' }, agree: ['factory', 'size', 'year'] };
    expect(ask('K2-86', { family, archive: more })).toEqual([
      [
        'verify/other-label',
        {
          ...both('K2-86'),
          parts: ['size (stick not given, asked 86)', 'year (stick not given, asked not given)'],
        },
      ],
    ]);
  });

  it('is written otherwise, or misread, as a person may write or misread what is on the plate', () => {
    const plate = '^(?<factory>K[23OQ])-(?<size>\\d+)$';
    const grammar = { ...family, label: { pattern: plate, absent: {} } } as typeof family;
    expect(ask('"K2_86".', { family: grammar, archive })).toEqual([
      ['verify/label-written-otherwise', { ...both('"K2_86".'), exact: 'K2-86' }],
    ]);
    expect(ask('K2-8G', { family: grammar, archive })).toEqual([
      ['verify/label-misread', { ...both('K2-8G'), likes: ['K2-86'] }],
    ]);
    const alike = { ...archive, parts: { factory: 'KO' } };
    expect(ask('KQ-99', { family: grammar, archive: alike })).toEqual([
      ['verify/label-misread', { ...both('KQ-99'), likes: [] }],
    ]);
    const more = { ...archive, parts: { factory: 'KO', size: '86' }, agree: ['factory', 'size'] };
    expect(ask('KQ-86', { family: grammar, archive: more })).toEqual([
      ['verify/label-misread', { ...both('KQ-86'), likes: [] }],
    ]);
    const [misread] = ask('K2-III', { family: grammar, archive });
    expect(misread).toMatchObject(['verify/label-misread', { likes: { length: 6 } }]);
  });

  it('cannot be compared where the family does not read it, or where none was known', () => {
    expect(ask('QX-86')).toEqual([['verify/label-not-comparable', both('QX-86')]]);
    expect(ask('K3-86', { family: null, archive })).toEqual([['verify/other-label', { ...both('K3-86'), parts: [] }]]);
    expect(ask('K3-86', { family })).toEqual([['verify/other-label', { ...both('K3-86'), parts: [] }]]);
  });
});
