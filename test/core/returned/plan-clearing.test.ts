import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { LeftKind } from '../../../src/core/contents/content-kinds.ts';
import { sortContents } from '../../../src/core/contents/sort-contents.ts';
import { parentOf } from '../../../src/core/manifest/stick-names.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import type { StickEntry } from '../../../src/core/model/stick-facts.ts';
import { planClearing } from '../../../src/core/returned/plan-clearing.ts';

const firmware = ['sedge_boot.pkg', 'images/system.img', 'images/deep/touch.img'];
const record = ['manifest.json', 'checksums.sha256', 'what-is-this-stick.txt'].map((name) => `stickwright/${name}`);

const manifest = {
  files: firmware.map((path) => ({ path, bytes: 10, sha256: '0'.repeat(64) })),
  folders: ['images', 'images/deep'],
  untouched: [{ path: 'letters', bytes: 5 }],
  setAside: [],
} as unknown as Manifest;

const others = [
  'letters/mine.txt',
  'holiday.jpg',
  'images/holiday.jpg',
  'images/deep/.DS_Store',
  'LOST.DIR/12',
  'Android/data/app/board.svg',
  'Android/data/.nomedia',
  'Music/song.mp3',
  'last_log',
  'logs/a/boot.txt',
  'System Volume Information/WPSettings.dat',
  'System Volume Information/diary.txt',
  '.Trashes/501/gone.txt',
  'images/._system.img',
  'stickwright/diary.txt',
  'stickwright/MANIFEST.OLD',
];
const emptyFolders = ['LOST.DIR', 'Music', 'DCIM', 'somebody', 'images/empty'];

/** As a volume lists it: folders before what is in them. */
function listing(files: readonly string[], folders: readonly string[]): readonly StickEntry[] {
  const kinds = new Map<string, 'file' | 'folder'>();
  for (const path of [...files, ...folders]) {
    for (let parent = parentOf(path); parent !== ''; parent = parentOf(parent)) kinds.set(parent, 'folder');
  }
  for (const path of folders) kinds.set(path, 'folder');
  for (const path of files) kinds.set(path, 'file');
  const sorted = [...kinds].sort(([a], [b]) => (a < b ? -1 : 1));
  return sorted.map(([path, kind]) => ({ path, kind, bytes: kind === 'file' && !path.endsWith('.nomedia') ? 10 : 0 }));
}

const sticks = fc.record({
  files: fc.subarray([...firmware, ...others]),
  folders: fc.subarray(emptyFolders),
  keepsLeft: fc.boolean(),
  isWithdrawn: fc.boolean(),
});

const neverGoes: ReadonlySet<LeftKind> = new Set(['stayed', 'unexplained', 'desk-bin']);
const onlyWhenKept: ReadonlySet<LeftKind> = new Set(['panel-log', 'panel-file']);

describe('the plan of a clearing', () => {
  it('can be carried out as it stands, takes nothing of anybody’s, and hides nothing', () => {
    fc.assert(
      fc.property(sticks, ({ files, folders, keepsLeft, isWithdrawn }) => {
        const at = isWithdrawn ? 'stickwright/MANIFEST.OLD' : 'stickwright/manifest.json';
        const own = isWithdrawn ? [...record.slice(1), at] : record;
        const entries = listing([...new Set([...files, ...own])], folders);
        const sorted = sortContents(entries, manifest, 'stickwright');
        const kinds = new Map(sorted.map(({ path, what }) => [path, what]));
        const plan = planClearing({
          sorted,
          manifestAt: at,
          toolFolder: 'stickwright',
          changed: new Set(),
          keepsLeft,
          settlesDirtyMark: false,
        });
        const there = new Set(entries.map(({ path }) => path));
        for (const { action, path, kind, to } of plan.steps.flat()) {
          expect(there.delete(path), `${path} is there`).toBe(true);
          if (action === 'withdraw' && to !== undefined) {
            expect(there.has(to)).toBe(false);
            there.add(to);
            continue;
          }
          if (kind === 'folder') expect([...there].filter((one) => parentOf(one) === path)).toEqual([]);
          const what = kinds.get(path) ?? 'record';
          expect(neverGoes.has(what), path).toBe(false);
          if (kind === 'file' && onlyWhenKept.has(what)) expect(plan.kept.map((one) => one.path)).toContain(path);
        }
        const shown = plan.stays.map(({ path }) => path);
        const isShown = (path: string): boolean => shown.some((one) => one === path || path.startsWith(`${one}/`));
        for (const path of there)
          expect(isShown(path) || shown.some((one) => one.startsWith(`${path}/`)), `${path} is shown`).toBe(true);
      }),
      { numRuns: 400 },
    );
  });

  it('withdraws the manifest before anything goes, and lets it go when all else is gone', () => {
    const sorted = sortContents(listing([...firmware, ...record, 'last_log'], ['LOST.DIR']), manifest, 'stickwright');
    const input = {
      sorted,
      manifestAt: 'stickwright/manifest.json',
      toolFolder: 'stickwright',
      changed: new Set<string>(),
    };
    const { steps } = planClearing({ ...input, keepsLeft: true, settlesDirtyMark: false });
    expect(steps[0]?.map(({ action, path, to }) => [action, path, to])).toEqual([
      ['withdraw', 'stickwright/manifest.json', 'stickwright/MANIFEST.OLD'],
    ]);
    expect(steps.slice(-2).map((step) => step.map(({ path }) => path))).toEqual([
      ['stickwright/MANIFEST.OLD'],
      ['stickwright'],
    ]);
  });

  it('says of a changed firmware file that it is one, and keeps a copy where copies are kept', () => {
    const sorted = sortContents(listing([...firmware, ...record], []), manifest, 'stickwright');
    const plan = planClearing({
      sorted,
      manifestAt: 'stickwright/manifest.json',
      toolFolder: 'stickwright',
      changed: new Set(['sedge_boot.pkg']),
      keepsLeft: true,
      settlesDirtyMark: false,
    });
    expect(plan.kept.map(({ path }) => path)).toEqual(['sedge_boot.pkg']);
    expect(
      plan.steps
        .flat()
        .filter(({ changed }) => changed)
        .map(({ path }) => path),
    ).toEqual(['sedge_boot.pkg']);
  });
});
