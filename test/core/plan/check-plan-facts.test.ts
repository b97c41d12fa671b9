import { describe, expect, it, test } from 'vitest';
import type { Finding } from '../../../src/core/findings/finding.ts';
import { largestManifestBytes, recordedBytes } from '../../../src/core/manifest/build-manifest.ts';
import { customaryRules } from '../../../src/core/model/customary-rules.ts';
import type { ModeRules } from '../../../src/core/model/family.ts';
import type { LayoutPlan, PlanItem } from '../../../src/core/model/layout-plan.ts';
import type { StickEntry, StickFacts } from '../../../src/core/model/stick-facts.ts';
import { checkPlan, type PlanFacts } from '../../../src/core/plan/check-plan.ts';
import { imageBytesFor } from '../../../src/core/plan/space-after.ts';

const wantedFile = (path: string, bytes = 1) => ({
  path,
  bytes,
  origin: { from: 'entry', name: path, crc32: 7 } as const,
});
const plan: LayoutPlan = {
  mode: 'recovery',
  items: [],
  untouched: [],
  writeBytes: 0,
  freeBytesNow: 0,
  freeBytesAfter: 0,
  nothingToDo: false,
};
const stick = { target: 'E:', kind: 'image', fileSystem: 'fat32', rootSlotsFree: undefined } as unknown as StickFacts;
const rules: ModeRules = { ...customaryRules('recovery'), 'keeps-data': true };
const write = (path: string): PlanItem => ({
  action: 'write',
  path,
  bytes: 1,
  clusters: 1,
  origin: wantedFile(path).origin,
});
const file = (path: string): StickEntry => ({ path, kind: 'file', bytes: 1 });

const told = (more: Partial<PlanFacts> & { items?: readonly PlanItem[] }) =>
  checkPlan({
    ...{ plan: { ...plan, items: more.items ?? [] }, wanted: { files: [], folders: [] }, stick, entries: [], rules },
    ...more,
  }).map(({ code, subject, facts }: Finding) => [code, subject, facts]);

describe('what a family requires at the root', { tags: ['any-maker'] }, () => {
  const ask = (pattern: string, ...paths: readonly string[]) =>
    told({
      rules: { ...rules, 'required-at-root': [pattern] },
      wanted: { files: paths.map((path) => wantedFile(path)), folders: [] },
    });
  test.each<readonly [string, readonly string[], string | undefined | null]>([
    ['boot.pkg', ['BOOT.PKG'], null],
    ['.boot', ['.boot'], null],
    ['images/*.img', ['images/a.img'], null],
    ['images/*.img', ['x.bin', 'images/.a.img'], null],
    ['boot.pkg', ['.fw/x/boot.pkg'], '.fw/x/boot.pkg'],
    ['boot.pkg', ['x.img', 'in/boot.pkg'], 'in/boot.pkg'],
    ['boot.pkg', ['a/b/c/Boot.pkg'], 'a/b/c/Boot.pkg'],
    ['images/*.img', ['fw/images/a.img'], 'fw/images/a.img'],
    ['images/*.img', ['images/x/a.img'], undefined],
    ['boot.pkg', ['myboot.pkg', 'in/myboot.pkg'], undefined],
  ])('%s is looked for in %j', (pattern, paths, deeperAt) => {
    expect(ask(pattern, ...paths)).toEqual(
      deeperAt === null ? [] : [['plan/required-missing', pattern, { pattern, deeperAt }]],
    );
  });
});

it('firmware may not have the names of the tool, at the root, in any case', () => {
  const files = ['STICKWRIGHT/a', 'images/stickwright', 'boot.pkg'].map((path) => wantedFile(path));
  expect(
    told({ wanted: { files, folders: ['sw-part.tmp', 'images'] } }).map(([code, subject]) => [code, subject]),
  ).toEqual([
    ['plan/name-is-the-tools', 'STICKWRIGHT'],
    ['plan/name-is-the-tools', 'sw-part.tmp'],
  ]);
});

describe('room', { tags: ['plan-before-touch'] }, () => {
  const ask = (freeBytesAfter: number, lostBytes?: number, facts: Partial<StickFacts> = {}) =>
    told({
      plan: { ...plan, freeBytesNow: 5, writeBytes: 9, freeBytesAfter },
      lostBytes,
      stick: { ...stick, ...facts },
    });
  const short = (mayBeHeld: boolean) => [
    ['plan/does-not-fit', 'E:', { missingBytes: 10, freeBytes: 5, writeBytes: 9, mayBeHeld }],
  ];
  test.each<readonly [string, () => ReturnType<typeof ask>, readonly unknown[]]>([
    ['to the byte', () => ask(0), []],
    ['that is short', () => ask(-10), short(false)],
    ['that is short by more than nobody holds', () => ask(-10, 9), short(false)],
    [
      'that is short by just what nobody holds',
      () => ask(-10, 10),
      [['plan/space-belongs-to-nobody', 'E:', { lostBytes: 10, freeBytes: 5, writeBytes: 9 }]],
    ],
    ['that is short on a mounted FAT', () => ask(-10, undefined, { kind: 'folder' }), short(true)],
    [
      'that is short on a mounted exFAT',
      () => ask(-10, undefined, { kind: 'folder', fileSystem: 'exfat' }),
      short(true),
    ],
    [
      'that is short on a mounted NTFS',
      () => ask(-10, undefined, { kind: 'folder', fileSystem: 'ntfs' }),
      short(false),
    ],
  ])('%s', (_, found, expected) => {
    expect(found()).toEqual(expected);
  });

  it('of one file ends where FAT ends, and on no other file system', () => {
    const files = [wantedFile('a', 2 ** 32 - 1), wantedFile('b', 2 ** 32)];
    const wanted = { files, folders: [] };
    expect(told({ wanted }).map(([code, subject]) => [code, subject])).toEqual([['plan/file-too-large', 'b']]);
    expect(told({ wanted, stick: { ...stick, fileSystem: 'exfat' } })).toEqual([]);
  });

  it('in a fixed root is counted in slots, with the tool’s own names', () => {
    // Three own names: one of two slots and two of one (specification, section 7).
    const items = [
      write('A.BIN'),
      write('images/x'),
      { action: 'make-folder', path: 'images' } as const,
      { action: 'make-folder', path: 'EMPTY' } as const,
      { action: 'remove', path: 'gone', kind: 'file', bytes: 1 } as const,
    ];
    const full = (rootSlotsFree: number) => told({ items, stick: { ...stick, rootSlotsFree } });
    expect(full(8)).toEqual([]);
    expect(full(7)).toEqual([['plan/root-full', 'E:', { needed: 8, free: 7 }]]);
  });

  it('for the record ends where a reader ends', () => {
    const path = 'x'.repeat(100);
    const most = Math.floor(largestManifestBytes / recordedBytes(path));
    const ask = (files: number) => told({ items: Array.from({ length: files }, () => write(path)) });
    expect(ask(most)).toEqual([]);
    const rest = largestManifestBytes - (most - 1) * recordedBytes(path);
    const last = 'x'.repeat(rest - recordedBytes(''));
    const exact = (name: string) =>
      told({ items: [...Array.from({ length: most - 1 }, () => write(path)), write(name)] });
    expect([exact(last).length, exact(`${last}x`).length]).toEqual([0, 1]);
    expect(ask(most + 1)).toEqual([
      [
        'plan/record-too-large',
        'E:',
        { files: most + 1, bytes: (most + 1) * recordedBytes(path), largest: largestManifestBytes },
      ],
    ]);
    const moved: PlanItem = { action: 'set-aside', path, to: path, bytes: 1 };
    const half = Array.from({ length: Math.ceil((most + 1) / 2) }, () => moved);
    expect(told({ items: half }).map(([code]) => code)).toEqual(['plan/record-too-large']);
    const untouched = Array.from({ length: most + 1 }, () => ({ path, bytes: 1 }));
    expect(told({ plan: { ...plan, untouched } }).map(([code]) => code)).toEqual(['plan/record-too-large']);
  });

  it('of an image is that of its files and folders, with some to spare, and never too small for FAT32', () => {
    const mib = 2 ** 20;
    expect(imageBytesFor({ files: [], folders: [] })).toBe(64 * mib);
    const files = Array.from({ length: 100 }, (_, at) => wantedFile(`${at}`, mib + 1));
    const clusters = 100 * 33 + 2 + Math.ceil((100 * 600) / 32_768);
    expect(imageBytesFor({ files, folders: ['a', 'b'] })).toBe(Math.ceil((clusters * 32_768 * 1.02) / mib + 8) * mib);
    // Many small files: their record, and a cluster for each folder, weigh as much as they do.
    const small = Array.from({ length: 20_000 }, (_, at) => wantedFile(`${at}`));
    const folders = Array.from({ length: 500 }, (_, at) => `d${at}`);
    const all = 20_000 + 500 + Math.ceil((20_000 * 600) / 32_768);
    expect(imageBytesFor({ files: small, folders })).toBe(Math.ceil((all * 32_768 * 1.02) / mib + 8) * mib);
  });
});

describe('short names that a driver makes up', { tags: ['read-alike-by-all'] }, () => {
  const collide = (path: string, long: string) => [['plan/short-names-collide', path, { long }]];
  test.each<readonly [string, readonly PlanItem[], readonly StickEntry[], Partial<StickFacts>, readonly unknown[]]>([
    [
      'of what is made',
      [write('SYSTEM~1.IMG'), write('system image.img')],
      [],
      {},
      collide('SYSTEM~1.IMG', 'system image.img'),
    ],
    [
      'of what lies there',
      [write('SYSTEM~1.IMG')],
      [file('system image.img')],
      {},
      collide('SYSTEM~1.IMG', 'system image.img'),
    ],
    [
      'of what lies there, and goes',
      [write('SYSTEM~1.IMG'), { action: 'remove', path: 'system image.img', kind: 'file', bytes: 1 }],
      [file('system image.img')],
      {},
      [],
    ],
    [
      'of what lies there, and is set aside',
      [
        write('SYSTEM~1.IMG'),
        { action: 'set-aside', path: 'system image.img', to: 'aside/system image.img', bytes: 1 },
      ],
      [file('system image.img')],
      {},
      [],
    ],
    [
      'with a number of two digits',
      [write('SYSTE~12.IMG'), write('system image.img')],
      [],
      {},
      collide('SYSTE~12.IMG', 'system image.img'),
    ],
    [
      'of a folder that is made',
      [{ action: 'make-folder', path: 'SYSTEM~1' }, write('system image')],
      [],
      {},
      collide('SYSTEM~1', 'system image'),
    ],
    [
      'of a file that is kept in its place',
      [
        write('SYSTEM~1.IMG'),
        { action: 'keep', path: 'system image.img', bytes: 1, origin: wantedFile('x').origin, staged: false },
      ],
      [file('system image.img')],
      {},
      collide('SYSTEM~1.IMG', 'system image.img'),
    ],
    ['of two folders that lie there together', [write('SYSTEM~1/x')], [file('SYSTEM~1'), file('system image')], {}, []],
    [
      'that goes itself',
      [{ action: 'remove', path: 'SYSTEM~1.IMG', kind: 'file', bytes: 1 }, write('system image.img')],
      [file('SYSTEM~1.IMG')],
      {},
      [],
    ],
    ['in two folders', [write('a/SYSTEM~1.IMG'), write('b/system image.img')], [], {}, []],
    [
      'in one folder',
      [write('a/SYSTEM~1.IMG'), write('a/system image.img')],
      [],
      {},
      collide('a/SYSTEM~1.IMG', 'a/system image.img'),
    ],
    ['of the tool’s folder', [write('STICKW~1')], [], {}, collide('STICKW~1', 'stickwright')],
    [
      'of a folder on the way',
      [write('SYSTEM~1/x'), write('system image/y')],
      [],
      {},
      collide('SYSTEM~1', 'system image'),
    ],
    [
      'of what is set aside',
      [{ action: 'set-aside', path: 'x', to: 'a/SYSTEM~1.IMG', bytes: 1 }, write('a/system image.img')],
      [],
      {},
      collide('a/SYSTEM~1.IMG', 'a/system image.img'),
    ],
    [
      'of what an unfinished run staged',
      [
        { action: 'keep', path: 'SYSTEM~1.IMG', bytes: 1, origin: wantedFile('x').origin, staged: true },
        write('system image.img'),
      ],
      [],
      {},
      collide('SYSTEM~1.IMG', 'system image.img'),
    ],
    [
      'of what is kept in its place',
      [
        { action: 'keep', path: 'SYSTEM~1.IMG', bytes: 1, origin: wantedFile('x').origin, staged: false },
        write('system image.img'),
      ],
      [file('SYSTEM~1.IMG')],
      {},
      [],
    ],
    ['that look like none', [write('SYSTEM~X.IMG'), write('system image.img')], [], {}, []],
    ['on another file system', [write('SYSTEM~1.IMG'), write('system image.img')], [], { fileSystem: 'exfat' }, []],
    [
      'on one that nobody knows',
      [write('SYSTEM~1.IMG'), write('system image.img')],
      [],
      { fileSystem: 'unknown' },
      collide('SYSTEM~1.IMG', 'system image.img'),
    ],
  ])('%s', (_, items, entries, facts, expected) => {
    expect(told({ items, entries, stick: { ...stick, ...facts } })).toEqual(expected);
  });
});

it('a panel that wants its root to itself is told of the tool’s folder, and nothing is set aside there', () => {
  const strict = { ...rules, 'only-these-at-root': true };
  const beside = ['plan/folder-beside-the-firmware', 'stickwright', { folder: 'stickwright' }];
  expect(told({ rules: strict })).toEqual([beside]);
  expect(
    told({ rules: strict, items: [write('x'), { action: 'set-aside', path: 'me.jpg', to: 'aside/me.jpg', bytes: 1 }] }),
  ).toEqual([['plan/aside-not-possible', 'me.jpg', {}], beside]);
});

it('what it does to the panel, and that nothing is to do, is said', () => {
  expect(told({ rules: { ...rules, 'keeps-data': false } })).toEqual([
    ['plan/wipes-the-panel', 'recovery', { mode: 'recovery' }],
  ]);
  expect(told({ plan: { ...plan, nothingToDo: true } })).toEqual([['plan/nothing-to-do', 'stickwright', {}]]);
});
