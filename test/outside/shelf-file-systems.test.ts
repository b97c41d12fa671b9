import { existsSync, readFileSync, statfsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { openShelf } from '../../src/io/shelf/open-shelf.ts';
import { checkShelf } from '../../src/workflows/shelf-check.ts';
import { sampleFamilies } from '../core/label/families.ts';
import { makeArchive, noise } from '../fixtures/desk.ts';
import { addPackages, idle, makePackage } from '../fixtures/shelf/desk.ts';
import { canMount, type MountedKind, mountVolume, programsFor } from '../fixtures/volumes/mounts.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

// Real file systems of other people's making: those without hard links and without times to the second are among them,
// as shared folders are. Mounted by FUSE or the kernel.
const kinds: readonly MountedKind[] = ['exfat', 'ntfs', 'tmpfs'];
const scratch = makeScratch();
afterAll(() => scratch.undo());

const where = (context: { skip: (note: string) => void }): void => {
  if (!canMount && process.env.CI !== 'true') context.skip('mounting takes root on Linux');
};

describe('a shelf', () => {
  for (const kind of kinds) {
    needs(programsFor[kind])(
      `on ${kind} keeps, finds, copies out, removes, and is full without harm`,
      async (context: { skip: (note: string) => void }) => {
        where(context);
        const families = await sampleFamilies();
        const point = mountVolume(scratch, kind, 40);
        const { shelf } = await openShelf({ folder: join(point, 'shelf'), from: 'named' }, { make: true });
        const archive = await makePackage(scratch.path, 'reed.746_5B_second_K2.zip');
        const { additions } = await addPackages(shelf, [archive], families);
        expect(additions.map(({ state }) => state)).toEqual(['added']);
        const [one] = (await shelf.list()).packages;
        expect(readFileSync(one?.path ?? '')).toEqual(readFileSync(archive));

        const freeBytes = () => statfsSync(point).bavail * statfsSync(point).bsize;
        writeFileSync(join(point, 'filler'), Buffer.alloc(Math.max(0, freeBytes() - 500_000)));
        const before = freeBytes();
        const large = await makeArchive(
          scratch.path,
          { 'sedge_boot.pkg': noise(9, 700_000) },
          'reed.702_8S_third_home.zip',
        );
        const [tooLarge] = (await addPackages(shelf, [large], families)).additions;
        expect([tooLarge?.state, tooLarge?.error?.code]).toEqual(['failed', 'shelf/write-failed']);
        expect((await shelf.leftovers()).unfinished).toEqual([]);
        expect(freeBytes()).toBeGreaterThanOrEqual(before - 65_536);
        expect((await checkShelf([], shelf, idle)).findings.map(({ code }) => code)).toEqual([
          'shelf/unproven-when-added',
          'shelf/sound',
        ]);

        if (one === undefined) throw new Error('nothing was listed');
        expect((await shelf.export(one, point, idle.signal)).state).toBe('copied');
        expect(readFileSync(join(point, one.record.name))).toEqual(readFileSync(archive));
        expect(await shelf.remove(one.id)).toBe(true);
        expect(existsSync(one.path)).toBe(false);
        expect(await shelf.list()).toEqual({ packages: [], damaged: [] });
      },
    );
  }

  // fusefat 0.1a-3 empties a folder that is moved; `mv` shows the same. Should a later one not, the shelf just works.
  needs(programsFor.fat32)(
    'says so where a driver loses what it moves',
    async (context: { skip: (note: string) => void }) => {
      where(context);
      const folder = join(mountVolume(scratch, 'fat32', 40), 'shelf');
      const { shelf } = await openShelf({ folder, from: 'named' }, { make: true });
      const archive = await makePackage(scratch.path, 'reed.746_5B_second_K2.zip');
      const [addition] = (await addPackages(shelf, [archive], await sampleFamilies())).additions;
      const { packages, damaged } = await shelf.list();
      expect(damaged).toEqual([]);
      if (addition?.state === 'added') expect(packages).toHaveLength(1);
      else expect([packages, addition?.error?.code]).toEqual([[], 'shelf/write-failed']);
    },
  );
});
