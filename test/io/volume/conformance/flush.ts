import { expect } from 'vitest';
import { type Bench, itWhere, pathsOf, patterned, readFile, type Traits, writeFile } from './stand.ts';

/** What `flush` promises: see the port. Linux's own vfat is asked in test/outside/ready-is-on-the-medium.test.ts. */
export function describeFlush(bench: Bench, traits: Traits): void {
  itWhere(traits.cuts)(
    'has made, moved and removed on the medium when it was flushed, whatever was flushed before',
    { tags: ['ready-is-on-the-medium', 'nobodys-files-vanish'] },
    async () => {
      const { volume, stand } = bench;
      for (const folder of ['stage', 'stage/deep', 'kept']) await volume.makeFolder(folder);
      await writeFile(volume, 'stage/boot.pkg', patterned(50_000));
      await writeFile(volume, 'stage/deep/one.img', patterned(70_001, 2));
      await writeFile(volume, 'old.zip', patterned(3000, 3));
      await writeFile(volume, 'gone.zip', patterned(900, 4));
      await volume.flush();
      await volume.rename('old.zip', 'kept/old.zip');
      await volume.rename('stage', 'final');
      await volume.rename('final/boot.pkg', 'boot.pkg');
      await volume.removeFile('gone.zip');
      await volume.flush();
      expect(stand.cut).toBeDefined();
      const left = await stand.cut?.();
      if (left === undefined) return;
      try {
        expect((await pathsOf(left)).toSorted()).toEqual(
          ['boot.pkg', 'final', 'final/deep', 'final/deep/one.img', 'kept', 'kept/old.zip'].toSorted(),
        );
        expect(Buffer.compare(await readFile(left, 'boot.pkg'), patterned(50_000))).toBe(0);
        expect(Buffer.compare(await readFile(left, 'final/deep/one.img'), patterned(70_001, 2))).toBe(0);
        expect(Buffer.compare(await readFile(left, 'kept/old.zip'), patterned(3000, 3))).toBe(0);
      } finally {
        await left.close();
      }
    },
  );

  itWhere(traits.cuts)(
    'brings to the medium what others wrote, when it is asked to settle, also for a reader',
    { tags: ['ready-is-on-the-medium'] },
    async () => {
      const { volume, stand } = bench;
      await writeFile(volume, 'theirs.zip', patterned(40_000, 5)); // not flushed: as if somebody else had copied it
      const reader = await stand.open('read');
      try {
        expect(await reader.settle()).toBe(true);
      } finally {
        await reader.close();
      }
      const left = await stand.cut?.();
      try {
        expect(left && Buffer.compare(await readFile(left, 'theirs.zip'), patterned(40_000, 5))).toBe(0);
      } finally {
        await left?.close();
      }
    },
  );
}
