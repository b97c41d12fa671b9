import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import type { LayoutPlan } from '../../src/core/model/layout-plan.ts';
import type { Mode } from '../../src/core/model/mode.ts';
import { stickwright } from '../fixtures/command.ts';
import { firmwareTree, makeArchive, noise, packageName, panelLabel, sha256 } from '../fixtures/desk.ts';
import { type Content, makeStick, seeStick, stickPrograms } from '../fixtures/kernel/kernel-sticks.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

// Judge: mtools, which reads the stick before and after. What it finds afterwards must be what the dry run's plan
// makes of what it found before: every file, every byte of it, and the room that is left.
const outside = needs({ ...stickPrograms, mdir: 'mtools' });

let scratch: Scratch;
let archivePath: string;
beforeEach(async () => {
  scratch = makeScratch();
  archivePath = await makeArchive(scratch.path);
});
afterEach(() => scratch.undo());

const job = (mode: Mode, image: string, ...more: readonly string[]) => {
  const words = ['prepare', archivePath, '--mode', mode, '--label', panelLabel, '--stick', image, '--json', ...more];
  // The dated folder has the moment in its name: it is the same in both runs.
  const { stdout, exitCode } = stickwright(words, { SOURCE_DATE_EPOCH: '1796040000' });
  const { sticks } = JSON.parse(stdout) as { sticks: readonly { plan: LayoutPlan | null; state: string }[] };
  const [stick] = sticks;
  if (stick?.plan == null) throw new Error(stdout);
  return { plan: stick.plan, state: stick.state, exitCode };
};

/** File by file with its SHA-256, as mtools reads them. */
const filesOf = (image: string): Readonly<Record<string, string>> => {
  const folder = join(scratch.path, 'seen');
  mkdirSync(folder, { recursive: true });
  return seeStick(image, folder).files;
};

const freeOf = (image: string): number => {
  const [, free = ''] = /([\d ]+) bytes free/.exec(mtools('mdir', `${image}@@1M`, '::')) ?? [];
  return Number(free.replaceAll(' ', ''));
};

/** What the plan makes of FILES; nothing else may happen. The record's own bytes are its own matter. */
function planned(
  files: Readonly<Record<string, string>>,
  { items, untouched }: LayoutPlan,
  content: Content,
): Readonly<Record<string, string>> {
  const after = new Map(Object.entries(files));
  const below = (path: string) => [...after.keys()].filter((name) => name === path || name.startsWith(`${path}/`));
  for (const item of items) {
    if (item.action === 'set-aside')
      for (const name of below(item.path)) {
        after.set(`${item.to}${name.slice(item.path.length)}`, after.get(name) ?? '');
        after.delete(name);
      }
    else if (item.action === 'withdraw' || item.action === 'remove')
      for (const name of below(item.path)) after.delete(name);
    else if (item.action === 'write') {
      const bytes = content[item.path];
      expect(bytes?.length, item.path).toBe(item.bytes);
      after.set(item.path, sha256(bytes ?? Buffer.alloc(0)));
    } else if (item.action === 'keep')
      expect(after.get(item.path), item.path).toBe(sha256(content[item.path] ?? noise(0, 1)));
  }
  for (const { path } of untouched) expect(after.has(path) || below(path).length > 0, path).toBe(true);
  return Object.fromEntries(after);
}

const isRecord = ([path]: readonly [string, unknown]): boolean => path.startsWith('stickwright/');
const withoutRecord = (files: Readonly<Record<string, string>>) =>
  Object.fromEntries(Object.entries(files).filter((one) => !isRecord(one)));

const lying: Content = {
  'holiday.jpg': noise(1, 90_000),
  'sedge_boot.pkg': noise(2, 5000),
  [`old ${packageName}`]: noise(3, 7000),
};

describe('a dry run', () => {
  for (const [mode, leftovers] of [
    ['in-os', 'set-aside'],
    ['recovery', 'remove'],
  ] as const)
    outside(
      `${mode}, ${leftovers}: says exactly what is done, on a used stick, and again for another mode`,
      { tags: ['nobodys-files-vanish'], timeout: 300_000 },
      async () => {
        const image = await makeStick(join(scratch.path, 'stick.img'), lying);
        const archive: Content = { [packageName]: readFileSync(archivePath) };
        const other: Mode = mode === 'in-os' ? 'recovery' : 'in-os';
        for (const now of [mode, other, other] as const) {
          const content = now === 'in-os' ? archive : firmwareTree;
          const medium = readFileSync(image);
          const before = filesOf(image);
          const { plan } = job(now, image, '--leftovers', leftovers, '--dry-run');
          expect(readFileSync(image).equals(medium), 'a dry run writes nothing').toBe(true);
          expect(plan.freeBytesNow).toBe(freeOf(image));
          const done = job(now, image, '--leftovers', leftovers, '--yes');
          expect(done.exitCode, JSON.stringify(done)).toBe(4);
          const after = filesOf(image);
          expect(withoutRecord(after)).toEqual(withoutRecord(planned(before, plan, content)));
          expect(Object.entries(after).filter(isRecord).length).toBeGreaterThan(2);
          // The record is reckoned generously: 8 KiB, 600 bytes a file, and a cluster begun for each of its files.
          const more = freeOf(image) - plan.freeBytesAfter;
          expect(more).toBeGreaterThanOrEqual(0);
          expect(more).toBeLessThan(8192 + 600 * Object.keys(content).length + 6 * 512);
        }
      },
    );
});
