import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import type { LayoutPlan } from '../../src/core/model/layout-plan.ts';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, panelLabel } from '../fixtures/desk.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

// mtools says what is on the stick before and after; the plan of the dry run is held against the difference.

const check = needs({ mdir: 'mtools', mcopy: 'mtools' });
const folder = mkdtempSync(join(tmpdir(), 'stickwright dry run-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const volumeOf = (image: string): string => `${image}@@1M`;

/** Every file and folder, by its path. */
const listed = (image: string): readonly string[] =>
  mtools('mdir', volumeOf(image), '-/', '-a', '-b', '::')
    .split('\n')
    .filter((line) => line.startsWith('::/'))
    .map((line) => line.slice(3).replace(/\/$/, ''))
    .toSorted();

const digest = (path: string): string => createHash('sha256').update(readFileSync(path)).digest('hex');

/** The folder for what is set aside carries the moment in its name (reproducible-builds.org: SOURCE_DATE_EPOCH). */
const oneMoment = { SOURCE_DATE_EPOCH: '1790000000' };

interface Answered {
  readonly sticks: readonly { readonly plan: LayoutPlan }[];
}

/** What was there, changed as the plan says it, and nothing else; folders that items lie in come along. */
function foreseen(before: readonly string[], { items }: LayoutPlan): readonly string[] {
  const paths = new Set(before);
  const move = (from: string, to: string): void => {
    for (const path of [...paths].filter((one) => one === from || one.startsWith(`${from}/`))) {
      paths.delete(path);
      paths.add(to + path.slice(from.length));
    }
  };
  for (const item of items) {
    if (item.action === 'set-aside') move(item.path, item.to);
    else if (item.action === 'remove') paths.delete(item.path);
    else paths.add(item.path);
  }
  for (const path of [...paths]) {
    const parts = path.split('/');
    for (let length = 1; length < parts.length; length += 1) paths.add(parts.slice(0, length).join('/'));
  }
  return [...paths].toSorted();
}

describe('the dry run is exact', () => {
  for (const mode of ['in-os', 'recovery'] as const)
    for (const leftovers of ['set-aside', 'remove'] as const)
      check(`${mode}, what was there is to be ${leftovers}: that it lists, and only that, is done`, async () => {
        const archive = await makeArchive(folder);
        const stick = await makeFatImage(join(folder, `${mode}-${leftovers}.img`), 64 * 2 ** 20, {
          kind: 'fat32',
          clusterBytes: 512,
          partitioned: true,
        });
        const notes = join(folder, 'lesson notes.txt');
        writeFileSync(notes, 'of somebody');
        const old = join(folder, 'other firmware.zip');
        writeFileSync(old, readFileSync(archive));
        mtools('mcopy', volumeOf(stick), notes, old, '::');
        const before = listed(stick);
        const bytes = digest(stick);
        const words = ['prepare', archive, '--mode', mode, '--label', panelLabel, '--stick', stick];
        const all = [...words, '--leftovers', leftovers, '--json'];
        const dry = JSON.parse(stickwright([...all, '--dry-run'], oneMoment).stdout) as Answered;
        expect(digest(stick)).toBe(bytes);
        const plan = dry.sticks[0]?.plan as LayoutPlan;
        expect(plan.items.some(({ action }) => action === (leftovers === 'remove' ? 'remove' : 'set-aside'))).toBe(
          true,
        );
        const done = JSON.parse(stickwright([...all, '--yes'], oneMoment).stdout) as Answered;
        expect(done.sticks[0]?.plan).toEqual(plan);
        const after = listed(stick).filter((path) => !/^stickwright\/./.test(path));
        expect(after).toEqual(
          foreseen(before, done.sticks[0]?.plan as LayoutPlan).filter((path) => !/^stickwright\/./.test(path)),
        );
      });
});
