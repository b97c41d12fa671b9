import { expect, test } from 'vitest';
import type { LayoutPlan } from '../../../src/core/model/layout-plan.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import type { FileGlance, StickEntry, StickFacts } from '../../../src/core/model/stick-facts.ts';
import { type PlanInput, planLayout } from '../../../src/core/plan/plan-layout.ts';

const stick = { clusterBytes: 512, freeBytes: 1_000_000 } as StickFacts;

/** `path`, `path/` for a folder, `path 700` for a file of so many bytes; others have 10. */
const entry = (text: string): StickEntry => {
  const [path = '', bytes = '10'] = text.split(' ');
  return path.endsWith('/')
    ? { path: path.slice(0, -1), kind: 'folder', bytes: 0 }
    : { path, kind: 'file', bytes: Number(bytes) };
};

const wanted = {
  files: ['boot.pkg', 'images/a.img'].map((path) => ({
    path,
    bytes: 600,
    origin: { from: 'entry', name: path, crc32: 7 } as const,
  })),
  folders: ['images'],
};
const right = { sha256: 'x', crc32: 7 };
const before = (more: Partial<Manifest> = {}): Manifest =>
  ({
    files: wanted.files.map(({ path }) => ({ path, bytes: 600, sha256: 'x' })),
    folders: ['images'],
    untouched: [],
    setAside: [],
    archive: { name: 'reed.zip', sha256: 'x' },
    ...more,
  }) as unknown as Manifest;
const prepared = ['boot.pkg 600', 'images/', 'images/a.img 600', 'stickwright/', 'stickwright/manifest.json 900'];
const same = {
  manifest: before(),
  manifestAt: 'stickwright/manifest.json',
  sameJob: true,
  proven: new Map(['boot.pkg', 'images/a.img'].map((path) => [path, right])),
};

const planFor = (entries: readonly string[], more: Partial<PlanInput> = {}): LayoutPlan =>
  planLayout({
    mode: 'recovery',
    wanted,
    stick,
    entries: entries.map(entry),
    proven: new Map(),
    manifest: undefined,
    sameJob: false,
    policy: 'stop',
    strictRoot: false,
    at: '2026-11-02T07:30:00.000Z',
    isPackageName: (name) => name === 'reed.zip',
    isRecoveryFile: (path) => path === 'boot.pkg',
    isRecoveryTree: () => false,
    glances: new Map(),
    ...more,
  }).plan;

/** As a person reads it; `to make` stands for what is written where nothing is right yet. */
function linesOf({ items, untouched }: LayoutPlan): readonly string[] {
  const lines = items.map((item) => {
    const to = 'to' in item && item.to !== undefined ? ` > ${item.to}` : '';
    return `${item.action} ${item.path}${to}${item.action === 'keep' && item.staged ? ' (staged)' : ''}`;
  });
  return [...lines, ...untouched.map(({ path, bytes }) => `stays ${path} ${bytes}`)];
}
const aside = 'set-aside-20261102T073000Z';
const toMake = ['make-folder images', 'write boot.pkg', 'write images/a.img'];
const record = 'record stickwright';

test.each<readonly [what: string, entries: readonly string[], more: Partial<PlanInput>, expected: readonly string[]]>([
  ['an empty stick', [], {}, [...toMake, record]],
  [
    'what somebody has there stays, with all that is in it',
    ['letters/', 'letters/a.txt', 'letters/deep/', 'letters/deep/b.txt 5', 'me.jpg'],
    {},
    [...toMake, record, 'stays letters 15', 'stays me.jpg 10'],
  ],
  ['what is in the way stays where nobody said otherwise', ['reed.zip'], {}, [...toMake, record, 'stays reed.zip 10']],
  [
    'what is in the way is removed, and what lies in it',
    ['reed/', 'reed/b/', 'reed/b/c', 'me.jpg'],
    { policy: 'remove' },
    ['remove reed/b/c', 'remove reed/b', 'remove reed', ...toMake, record, 'stays me.jpg 10'],
  ],
  [
    'what is in the way is set aside, under a name that no panel takes for firmware',
    ['reed.zip', 'reed/', 'reed/boot.pkg', 'reed/in/', 'reed/in/disk.iso', 'reed/notes.txt', 'me.jpg'],
    { policy: 'set-aside' },
    [
      `make-folder ${aside}`,
      `set-aside reed.zip > ${aside}/reed.zip.set-aside`,
      `set-aside reed > ${aside}/reed`,
      `set-aside ${aside}/reed/boot.pkg > ${aside}/reed/boot.pkg.set-aside`,
      `set-aside ${aside}/reed/in/disk.iso > ${aside}/reed/in/disk.iso.set-aside`,
      ...toMake,
      record,
      'stays me.jpg 10',
    ],
  ],
  [
    'firmware deep in what is somebody’s is set aside alone, in a folder of the same name',
    ['letters/', 'letters/in/', 'letters/in/reed.zip 7', 'letters/a.txt'],
    { policy: 'set-aside' },
    [
      `make-folder ${aside}`,
      `make-folder ${aside}/letters`,
      `make-folder ${aside}/letters/in`,
      `set-aside letters/in/reed.zip > ${aside}/letters/in/reed.zip.set-aside`,
      ...toMake,
      record,
      'stays letters 10',
    ],
  ],
  [
    'no name is taken twice: neither the folder’s nor that of what goes into it',
    [`${aside}/`, `${aside.toLowerCase()}-2/`, 'reed.zip'],
    { policy: 'set-aside' },
    [
      `make-folder ${aside}-3`,
      `set-aside reed.zip > ${aside}-3/reed.zip.set-aside`,
      ...toMake,
      record,
      `stays ${aside} 0`,
      `stays ${aside.toLowerCase()}-2 0`,
    ],
  ],
  [
    'a panel that wants the root to itself gets it, and what is nobody’s firmware keeps its name',
    ['me.jpg', 'film.bin', '.DS_Store', 'LOST.DIR/', 'photos/', 'photos/disk.iso'],
    { policy: 'set-aside', strictRoot: true },
    [
      `make-folder ${aside}`,
      `set-aside me.jpg > ${aside}/me.jpg`,
      `set-aside film.bin > ${aside}/film.bin.set-aside`,
      `set-aside .DS_Store > ${aside}/.DS_Store`,
      `set-aside LOST.DIR > ${aside}/LOST.DIR`,
      `set-aside photos > ${aside}/photos`,
      ...toMake,
      record,
    ],
  ],
  [
    'a right file is kept, and its folder',
    ['images/', 'images/a.img 600'],
    { proven: new Map([['images/a.img', right]]) },
    ['write boot.pkg', 'keep images/a.img', record],
  ],
  [
    'a file of the right name and size, and with other content, is somebody’s',
    ['images/', 'images/a.img 600'],
    { proven: new Map([['images/a.img', { ...right, crc32: 8 }]]), policy: 'remove' },
    ['remove images/a.img', 'write boot.pkg', 'write images/a.img', record],
  ],
  ['where all is as it was, nothing is done', prepared, same, ['keep boot.pkg', 'keep images/a.img']],
  [
    'of another job all is made anew, and its manifest keeps a name until then',
    prepared,
    { ...same, sameJob: false },
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'keep boot.pkg',
      'keep images/a.img',
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'a record that is not current is made anew',
    prepared,
    { ...same, recordIsCurrent: false },
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'keep boot.pkg',
      'keep images/a.img',
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'what stays and is recorded is no reason to write anew; what systems leave is none either',
    [...prepared, 'me.jpg', '.DS_Store', 'LOST.DIR/'],
    { ...same, manifest: before({ untouched: [{ path: 'me.jpg', bytes: 10 }] }) },
    ['keep boot.pkg', 'keep images/a.img', 'stays me.jpg 10', 'stays .DS_Store 10', 'stays LOST.DIR 0'],
  ],
  [
    'what stays and was larger is a reason',
    [...prepared, 'me.jpg'],
    { ...same, manifest: before({ untouched: [{ path: 'me.jpg', bytes: 11 }] }) },
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'keep boot.pkg',
      'keep images/a.img',
      'withdraw stickwright',
      record,
      'stays me.jpg 10',
    ],
  ],
  [
    'what was set aside by that job is none',
    [...prepared, `${aside}/`, `${aside}/me.jpg`],
    { ...same, manifest: before({ setAside: [{ path: 'me.jpg', to: `${aside}/me.jpg` }] }) },
    ['keep boot.pkg', 'keep images/a.img', `stays ${aside} 10`],
  ],
  [
    'what was written and is not right any more is put right unasked',
    prepared,
    { ...same, proven: new Map([['boot.pkg', right]]) },
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'remove images/a.img',
      'write images/a.img',
      'keep boot.pkg',
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'an unfinished run goes on: what it staged whole is kept, the rest of it goes',
    ['SW-PART.TMP/', 'SW-PART.TMP/boot.pkg 600', 'SW-PART.TMP/images/', 'SW-PART.TMP/old/', 'SW-PART.TMP/old/x'],
    { proven: new Map([['SW-PART.TMP/boot.pkg', right]]) },
    ['remove SW-PART.TMP/old/x', 'remove SW-PART.TMP/old', 'write images/a.img', 'keep boot.pkg (staged)', record],
  ],
  [
    'an unfinished run starts over: all of it goes, its folders too',
    ['SW-PART.TMP/', 'SW-PART.TMP/images/', 'SW-DONE.TMP/', 'SW-DONE.TMP/MANIFEST.NEW', 'SW-DONE.TMP/seal.json'],
    { startsOver: true, manifest: before(), manifestAt: 'SW-DONE.TMP/MANIFEST.NEW' },
    [
      'withdraw SW-DONE.TMP/MANIFEST.NEW',
      'withdraw SW-DONE.TMP/seal.json',
      'remove SW-DONE.TMP',
      'remove SW-PART.TMP/images',
      'remove SW-PART.TMP',
      ...toMake,
      record,
    ],
  ],
  [
    'a run that was cut off after its record was made keeps that under the older name',
    [
      'SW-DONE.TMP/',
      'SW-DONE.TMP/MANIFEST.NEW',
      'SW-DONE.TMP/checksums.sha256',
      'stickwright/',
      'stickwright/manifest.json',
    ],
    { manifest: before(), manifestAt: 'SW-DONE.TMP/MANIFEST.NEW' },
    [
      'withdraw SW-DONE.TMP/MANIFEST.NEW > SW-DONE.TMP/MANIFEST.OLD',
      'withdraw SW-DONE.TMP/checksums.sha256',
      'withdraw stickwright/manifest.json',
      ...toMake,
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'an older manifest makes room for the name that the newer one gets',
    ['stickwright/', 'stickwright/MANIFEST.OLD', 'stickwright/manifest.json', 'stickwright/checksums.sha256'],
    { manifest: before(), manifestAt: 'stickwright/manifest.json' },
    [
      'withdraw stickwright/MANIFEST.OLD',
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      ...toMake,
      'withdraw stickwright/checksums.sha256',
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'one that has that name already keeps it till the end',
    ['stickwright/', 'stickwright/MANIFEST.OLD', 'stickwright/diary.txt'],
    { manifest: before(), manifestAt: 'stickwright/MANIFEST.OLD', policy: 'remove' },
    ['remove stickwright/diary.txt', ...toMake, 'withdraw stickwright/MANIFEST.OLD', 'withdraw stickwright', record],
  ],
  [
    'a file under the name of the working folder goes, one under that of the tool’s is somebody’s',
    ['SW-PART.TMP', 'stickwright'],
    { policy: 'remove' },
    ['remove stickwright', 'remove SW-PART.TMP', ...toMake, record],
  ],
  [
    'what another job left goes with its folder, and only what its manifest names',
    ['old.dat', 'data/', 'data/a.img', 'me.jpg', 'stickwright/', 'stickwright/manifest.json'],
    {
      policy: 'remove',
      manifestAt: 'stickwright/manifest.json',
      manifest: before({ files: ['old.dat', 'data/a.img'].map((path) => ({ path, bytes: 10, sha256: 'x' })) }),
    },
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'remove old.dat',
      'remove data/a.img',
      'remove data',
      ...toMake,
      'withdraw stickwright',
      record,
      'stays me.jpg 10',
    ],
  ],
  [
    'what goes is listed once, and what goes with its folder goes first',
    ['letters/', 'letters/reed.zip'],
    { policy: 'remove', strictRoot: true },
    ['remove letters/reed.zip', 'remove letters', ...toMake, record],
  ],
  [
    'firmware in a person’s folder stays with the rest of it where nobody said otherwise',
    ['letters/', 'letters/reed.zip 7', 'letters/a.txt'],
    {},
    [...toMake, record, 'stays letters 17'],
  ],
  [
    'a folder is as large as what stays in it, and no other is',
    ['letters/', 'letters/reed.zip 7', 'photos/', 'photos/a.jpg 5'],
    { policy: 'remove' },
    ['remove letters/reed.zip', ...toMake, record, 'stays letters 0', 'stays photos 5'],
  ],
  [
    'a folder within what is set aside keeps its name, whatever that is',
    ['reed/', 'reed/disk.iso/', 'reed/disk.iso/a.txt'],
    { policy: 'set-aside' },
    [`make-folder ${aside}`, `set-aside reed > ${aside}/reed`, ...toMake, record],
  ],
  [
    'no new name is one that comes along',
    ['reed.zip', 'reed.zip.set-aside', 'reed.zip-2.set-aside'],
    { policy: 'set-aside', strictRoot: true },
    [
      `make-folder ${aside}`,
      `set-aside reed.zip > ${aside}/reed.zip-3.set-aside`,
      `set-aside reed.zip.set-aside > ${aside}/reed.zip.set-aside`,
      `set-aside reed.zip-2.set-aside > ${aside}/reed.zip-2.set-aside`,
      ...toMake,
      record,
    ],
  ],
  [
    'a record is a file in the tool’s folder, and nothing else of its name',
    ['stickwright/', 'stickwright/manifest.json/', 'letters/', 'letters/manifest.json'],
    { policy: 'remove' },
    ['remove stickwright/manifest.json', ...toMake, 'withdraw stickwright', record, 'stays letters 10'],
  ],
  [
    'what is missing is written, and what is in the way goes, also where the record knows all the rest',
    ['boot.pkg 600', 'images/', 'stickwright/', 'stickwright/manifest.json 900'],
    same,
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'write images/a.img',
      'keep boot.pkg',
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'what is in the way goes, also where nothing is to be written',
    [...prepared, 'reed.zip'],
    { ...same, policy: 'remove' },
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'remove reed.zip',
      'keep boot.pkg',
      'keep images/a.img',
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'what an unfinished run left is a reason to make the record anew',
    [...prepared, 'SW-PART.TMP/'],
    same,
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'keep boot.pkg',
      'keep images/a.img',
      'withdraw stickwright',
      record,
    ],
  ],
  [
    'starting over takes away the working folders alone, and keeps what the record says until then',
    ['SW-PART.TMP/', 'letters/', 'stickwright/', 'stickwright/manifest.json'],
    { startsOver: true, manifest: before(), manifestAt: 'stickwright/manifest.json' },
    [
      'withdraw stickwright/manifest.json > stickwright/MANIFEST.OLD',
      'remove SW-PART.TMP',
      ...toMake,
      'withdraw stickwright',
      record,
      'stays letters 0',
    ],
  ],
  [
    'starting over without a record takes away what is its own',
    ['SW-PART.TMP/', 'SW-DONE.TMP'],
    { startsOver: true },
    ['remove SW-PART.TMP', ...toMake, record, 'stays SW-DONE.TMP 10'],
  ],
  [
    'a file under the name of a folder that is needed makes no folder',
    ['images'],
    { policy: 'remove' },
    ['remove images', ...toMake, record],
  ],
])('%s', { tags: ['plan-before-touch', 'nobodys-files-vanish'] }, (_, entries, more, expected) => {
  expect(linesOf(planFor(entries, more))).toEqual(expected);
});

test('an archive that lies there whole is kept where the record of the same job knows it, and made anew if not', () => {
  const whole = { files: [{ path: 'reed.zip', bytes: 600, origin: { from: 'archive' } as const }], folders: [] };
  const entries = ['reed.zip 600', 'stickwright/', 'stickwright/manifest.json'];
  const ask = (sha256: string, more: Partial<PlanInput> = {}) => {
    const manifest = before({ files: [{ path: 'reed.zip', bytes: 600, sha256: 'x' }], folders: [] });
    const proven = new Map([['reed.zip', { sha256, crc32: 7 }]]);
    return linesOf(planFor(entries, { ...same, mode: 'in-os', wanted: whole, manifest, proven, ...more }));
  };
  expect(ask('x')).toEqual(['keep reed.zip']);
  expect(ask('y').slice(1, 3)).toEqual(['remove reed.zip', 'write reed.zip']);
  expect(ask('x', { sameJob: false })).toContain('write reed.zip');
});

test('what goes with a folder is counted once', () => {
  const { items } = planFor(['reed/', 'reed/a 700', 'reed/b 300'], { policy: 'remove' });
  const gone = items.flatMap((item) => (item.action === 'remove' ? [[item.path, item.bytes]] : []));
  expect(gone).toEqual([
    ['reed/b', 300],
    ['reed/a', 700],
    ['reed', 0],
  ]);
});

test('a folder takes a cluster for so many names as lie in it, under their new names', () => {
  const used = (input: Partial<PlanInput>, entries: readonly string[] = []) =>
    (stick.freeBytes - planFor(entries, input).freeBytesAfter) / 512;
  const many = (count: number) => ({
    files: Array.from({ length: count }, (_, at) => ({
      ...{ path: `images/${'a'.repeat(20)}${at}.img`, bytes: 0 },
      origin: { from: 'entry', name: 'x', crc32: 7 } as const,
    })),
    folders: ['images'],
  });
  const record = (files: number) => Math.ceil((8192 + files * 600) / 512) + 6;
  // Three slots for each long name, two for the folder itself and the one above it; 16 slots a cluster.
  expect(used({ wanted: many(20) })).toBe(Math.ceil((20 * 3 + 2) / 16) + record(20));
  expect(used({ wanted: { files: [], folders: ['images'] } })).toBe(1 + record(0));
  const moved = Array.from({ length: 20 }, (_, at) => `${'a'.repeat(13)}${String(at).padStart(2, '0')}.fw`);
  const glances = new Map<string, FileGlance>();
  const aside = used({ wanted: { files: [], folders: [] }, policy: 'set-aside', glances, strictRoot: true }, moved);
  // With `.set-aside` behind it a name of 18 characters takes a slot more.
  expect(aside).toBe(Math.ceil((20 * 4 + 2) / 16) + record(0));
});

test('what is firmware by what lies in it, and not by its name, is set aside like any other', () => {
  const glance = { name: 'letters/a.dat', names: ['payload.bin'], inner: [], image: undefined, whole: true };
  const glances: ReadonlyMap<string, FileGlance> = new Map([['letters/a.dat', glance]]);
  const lines = linesOf(planFor(['letters/', 'letters/a.dat 3', 'letters/b.txt'], { glances, policy: 'set-aside' }));
  expect(lines).toContain(`set-aside letters/a.dat > ${aside}/letters/a.dat.set-aside`);
  expect(lines).toContain('stays letters 10');
});

test('room is counted in whole clusters, with the record’s and what is given back', () => {
  const { freeBytes, clusterBytes = 0 } = stick;
  const after = (entries: readonly string[], more: Partial<PlanInput> = {}): number =>
    (freeBytes - planFor(entries, more).freeBytesAfter) / clusterBytes;
  // Two files of 600 bytes, a folder, and the record: 8,192 bytes and 600 for each file, with six clusters of its own.
  const record = Math.ceil((8192 + 2 * 600) / 512) + 6;
  expect(after([])).toBe(2 + 2 + 1 + record);
  expect(after(['reed.zip 1025'], { policy: 'remove' })).toBe(2 + 2 + 1 + record - 3);
  expect(after(['reed/'], { policy: 'remove' })).toBe(2 + 2 + 1 + record - 1);
  expect(after(['images/', 'images/a.img 600'], { proven: new Map([['images/a.img', right]]) })).toBe(2 + record);
  expect(after(['stickwright/', 'stickwright/seal.json 513'])).toBe(2 + 2 + 1 + record - 2 - 1);
  // Firmware that is set aside takes a folder, and one cluster for each sixteen of its slots.
  expect(after(['reed.zip 1025'], { policy: 'set-aside' })).toBe(2 + 2 + 1 + record + 1);
  expect(after(prepared, same)).toBe(0);
  // Where nobody knows the clusters, they are taken for those of 32 KiB.
  const { clusterBytes: _, ...unknown } = stick;
  expect(freeBytes - planFor([], { stick: unknown as StickFacts }).freeBytesAfter).toBe((1 + 1 + 1 + 1 + 6) * 32_768);
  expect(planFor([], { stick: unknown as StickFacts }).items[1]).toMatchObject({
    path: 'boot.pkg',
    clusters: undefined,
  });
});

test('what a removed file held beyond its size comes back, too', () => {
  const held = { ...entry('reed.zip 10'), heldBytes: 1024 };
  const gone = planLayout({
    ...{ mode: 'recovery', wanted: { files: [], folders: [] }, stick, entries: [held], proven: new Map() },
    ...{ manifest: undefined, sameJob: false, policy: 'remove', strictRoot: false, at: '2026-11-02T07:30:00Z' },
    ...{ isPackageName: () => true, isRecoveryFile: () => false, isRecoveryTree: () => false, glances: new Map() },
  });
  expect(gone.plan.freeBytesAfter - planFor([], { wanted: { files: [], folders: [] } }).freeBytesAfter).toBe(
    512 + 1024,
  );
});
