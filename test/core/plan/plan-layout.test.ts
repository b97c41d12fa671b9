import fc from 'fast-check';
import { describe, expect, it, test } from 'vitest';
import { mostCentralRecords } from '../../../src/core/archive-format/read-central-directory.ts';
import { largestManifestBytes } from '../../../src/core/manifest/build-manifest.ts';
import { customaryRules } from '../../../src/core/model/customary-rules.ts';
import type { StickEntry, StickFacts } from '../../../src/core/model/stick-facts.ts';
import { checkPlan } from '../../../src/core/plan/check-plan.ts';
import { type PlanInput, planLayout } from '../../../src/core/plan/plan-layout.ts';
import { readByteSize } from '../../../src/core/text/byte-size.ts';

const stick: StickFacts = {
  target: 'E:',
  kind: 'folder',
  fileSystem: 'fat32',
  fileSystemFrom: 'operating-system',
  partitionTable: 'mbr',
  partitions: [],
  otherVolumes: { from: 'sectors', volumes: [] },
  mediumBytes: 1e9,
  volumeBytes: 1e9,
  freeBytes: 9e8,
  clusterBytes: 4096,
  sectorBytes: 512,
  rootSlotsFree: undefined,
  volumeLabel: undefined,
  volumeSerial: undefined,
  readOnly: false,
  dirty: false,
  drive: undefined,
};

const wantedFile = (path: string, bytes: number) => ({
  path,
  bytes,
  origin: { from: 'entry', name: path, crc32: 7 } as const,
});

const input = (entries: readonly StickEntry[], more: Partial<PlanInput> = {}): PlanInput => ({
  mode: 'recovery',
  wanted: { files: [wantedFile('boot.pkg', 4097), wantedFile('images/a.img', 10)], folders: ['images'] },
  stick,
  entries,
  proven: new Map(),
  manifest: undefined,
  sameJob: false,
  policy: 'stop',
  strictRoot: false,
  at: '2026-11-02T07:30:00.000Z',
  isPackageName: () => false,
  isRecoveryFile: () => false,
  isRecoveryTree: () => false,
  glances: new Map(),
  ...more,
});

const file = (path: string, bytes = 10): StickEntry => ({ path, kind: 'file', bytes });
const folder = (path: string): StickEntry => ({ path, kind: 'folder', bytes: 0 });

describe('a plan', () => {
  it('counts whole clusters', () => {
    const { items, writeBytes } = planLayout(input([])).plan;
    expect(items.filter((item) => item.action === 'write').map(({ path, clusters }) => [path, clusters])).toEqual([
      ['boot.pkg', 2],
      ['images/a.img', 1],
    ]);
    expect(writeBytes).toBe(4107);
  });

  it('lists every file and folder of a removal, deepest first', () => {
    const entries = [folder('old.zip'), folder('old.zip/b'), file('old.zip/b/c'), file('firmware.bin')];
    const { plan } = planLayout(input(entries, { policy: 'remove', isPackageName: (name) => name === 'old.zip.zip' }));
    expect(plan.items.filter(({ action }) => action === 'remove').map(({ path }) => path)).toEqual([
      'old.zip/b/c',
      'old.zip/b',
      'old.zip',
      'firmware.bin',
    ]);
  });

  it('keeps what an unfinished run wrote whole, and clears away what it wrote half', () => {
    const entries = [
      folder('SW-PART.TMP'),
      file('SW-PART.TMP/boot.pkg', 4097),
      folder('SW-PART.TMP/images'),
      file('SW-PART.TMP/images/a.img', 3),
    ];
    const proven = new Map([['SW-PART.TMP/boot.pkg', { sha256: 'x', crc32: 7 }]]);
    const { items } = planLayout(input(entries, { proven })).plan;
    expect(items.map(({ action, path }) => `${action} ${path}`)).toEqual([
      'remove SW-PART.TMP/images/a.img',
      'write images/a.img',
      'keep boot.pkg',
      'record stickwright',
    ]);
  });

  it('withdraws an earlier manifest before everything else, and its lists after everything else', () => {
    const entries = [
      folder('stickwright'),
      file('stickwright/checksums.sha256'),
      file('stickwright/manifest.json'),
      file('firmware.bin'),
    ];
    const { items } = planLayout(input(entries, { policy: 'remove' })).plan;
    expect(items.map(({ action, path }) => `${action} ${path}`)).toEqual([
      'withdraw stickwright/manifest.json',
      'remove firmware.bin',
      'make-folder images',
      'write boot.pkg',
      'write images/a.img',
      'withdraw stickwright/checksums.sha256',
      'withdraw stickwright',
      'record stickwright',
    ]);
  });
});

describe('sizes as people write them', () => {
  it('are decimal in GB and binary in GiB', () => {
    expect(['32 GB', '32GiB', '1.5 MB', '512 B', 4096].map(readByteSize)).toEqual([
      32e9, 34_359_738_368, 1_500_000, 512, 4096,
    ]);
    for (const bad of ['32', 'GB', '1e3 MB', '-1 GB', '32 gb']) expect(() => readByteSize(bad)).toThrow(RangeError);
  });
});

const names = fc.constantFrom(
  'boot.pkg',
  'images',
  'images/a.img',
  'images/b.img',
  'x.zip',
  '._boot.pkg',
  'me.jpg',
  'stickwright',
  'SW-PART.TMP',
  'LOST.DIR',
  'IMAGES',
);

describe('whatever lies on the stick', () => {
  const sticks = fc
    .uniqueArray(fc.record({ path: names, kind: fc.constantFrom('file' as const, 'folder' as const) }), {
      selector: ({ path }) => path.toUpperCase(),
    })
    .map((list) =>
      list.filter(
        ({ path }) => !path.includes('/') || list.some((other) => other.path === 'images' && other.kind === 'folder'),
      ),
    );
  const policies = fc.constantFrom('stop' as const, 'set-aside' as const, 'remove' as const);

  it('the plan writes, keeps or is blocked for every wanted file, once; and touches nothing personal', () => {
    fc.assert(
      fc.property(sticks, policies, fc.boolean(), (list, policy, strictRoot) => {
        const entries = list.map((entry) => ({ ...entry, bytes: entry.kind === 'file' ? 1 : 0 }));
        const { plan, contents } = planLayout(input(entries, { policy, strictRoot }));
        const placed = plan.items
          .filter(({ action }) => action === 'write' || action === 'keep')
          .map(({ path }) => path);
        expect(placed.sort()).toEqual(['boot.pkg', 'images/a.img']);
        const touched = plan.items
          .filter(({ action }) => action === 'remove' || action === 'set-aside')
          .map(({ path }) => path);
        expect(new Set(touched).size).toBe(touched.length);
        if (!strictRoot) expect(touched).not.toContain('me.jpg');
        if (policy === 'stop') expect(touched.filter((path) => !path.startsWith('SW-PART.TMP'))).toEqual([]);
        // Nothing is both said to stay and touched.
        for (const { path } of plan.untouched) expect(touched).not.toContain(path);
        // Everything at the root is accounted for.
        const known = new Set(contents.map(({ path }) => path));
        for (const { path } of entries) if (!path.includes('/')) expect(known.has(path)).toBe(true);
      }),
      { numRuns: 500, seed: 20261102 },
    );
  });
});

describe('more files than can be recorded', () => {
  test('stop a plan', { tags: ['plan-before-touch', 'archive-read-once'] }, () => {
    const wantedOf = (letters: number) => ({
      files: Array.from({ length: mostCentralRecords }, (_, at) => wantedFile(`${at}`.padStart(letters, 'ä'), 1)),
      folders: [],
    });
    const codesFor = (letters: number): readonly string[] => {
      const wanted = wantedOf(letters);
      const { plan } = planLayout(input([], { wanted }));
      return checkPlan({ plan, wanted, stick, entries: [], rules: customaryRules('recovery') }).map(({ code }) => code);
    };
    expect(codesFor(24)).not.toContain('plan/record-too-large');
    expect(codesFor(120)).toContain('plan/record-too-large');
    // And what is let through can be read again.
    const files = wantedOf(24).files.map(({ path }) => ({ path, bytes: 2 ** 32 - 1, sha256: '0'.repeat(64) }));
    expect(Buffer.byteLength(JSON.stringify({ files }, null, 2))).toBeLessThan(largestManifestBytes);
  });
});
