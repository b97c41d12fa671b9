import { describe, expect, it } from 'vitest';
import { stagingFolder } from '../../../src/core/manifest/stick-names.ts';
import { fill, listMemory } from '../../fixtures/cut-sticks.ts';
import { noise, sha256 } from '../../fixtures/desk.ts';
import type { MemoryDevice } from '../../fixtures/volumes/memory-device.ts';
import { makeMemoryFat, openMemory } from '../../fixtures/volumes/open-memory.ts';
import { WriteLog } from '../../fixtures/volumes/power-cuts.ts';

const shapes = {
  fat32: [36 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true }],
  fat16: [8 * 2 ** 20, { kind: 'fat16', clusterBytes: 1024 }],
} as const;

const change = async (
  device: MemoryDevice,
  work: (volume: Awaited<ReturnType<typeof openMemory>>) => Promise<void>,
): Promise<WriteLog> => {
  const log = new WriteLog(device);
  const volume = await openMemory(device);
  await work(volume);
  await volume.close();
  return log;
};

for (const [kind, [bytes, shape]] of Object.entries(shapes)) {
  describe(`a change of folders on ${kind}, cut anywhere and in any order`, () => {
    const mine = noise(1, 3000);
    const start = async (): Promise<MemoryDevice> => {
      const device = await makeMemoryFat(bytes, shape);
      await fill(device, {
        'photo of a trip.jpg': mine,
        'aside/x.txt': Buffer.from('x'),
        'films/a.mkv': noise(2, 900),
      });
      return device;
    };

    /** Every cut, and of the writes that no flush separates every subset. */
    const everyOutcome = (log: WriteLog): readonly MemoryDevice[] =>
      Array.from({ length: log.writes.length + 1 }, (_, count) => count).flatMap((count) => {
        const waiting = log.writes.flatMap((_write, at) => (at < count && log.isWaiting(at, count) ? [at] : []));
        expect(waiting.length).toBeLessThan(10);
        return Array.from({ length: 2 ** waiting.length }, (_, subset) =>
          log.unorderedAfter(count, (at) => (subset & (1 << waiting.indexOf(at))) !== 0),
        );
      });

    it('a rename across folders never loses the file', async () => {
      const device = await start();
      const log = await change(device, (volume) => volume.rename('photo of a trip.jpg', 'aside/photo of a trip.jpg'));
      for (const medium of everyOutcome(log)) {
        const content = await listMemory(medium);
        const places = ['photo of a trip.jpg', 'aside/photo of a trip.jpg'].filter((path) => path in content);
        expect(places.length).toBeGreaterThan(0);
        for (const path of places) expect(content[path]).toBe(sha256(mine));
      }
    });

    it('a removed file is there whole, or is not there', async () => {
      const device = await start();
      const log = await change(device, (volume) => volume.removeFile('photo of a trip.jpg'));
      for (const medium of everyOutcome(log)) {
        const content = await listMemory(medium);
        expect([undefined, sha256(mine)]).toContain(content['photo of a trip.jpg']);
      }
    });

    it('a new folder is empty wherever it can be seen', async () => {
      const device = await start();
      // What the folder's cluster held before must not shine through.
      await change(device, (volume) => volume.removeFile('photo of a trip.jpg'));
      const log = await change(device, (volume) => volume.makeFolder('set-aside-20261102T073000Z'));
      for (const medium of everyOutcome(log)) {
        const inside = Object.keys(await listMemory(medium)).filter((path) => /^set-aside-.*\/./.test(path));
        expect(inside).toEqual([]);
      }
    });

    it('of two names of one staged file one is left, and what lies in the other’s clusters stays', async () => {
      const device = await makeMemoryFat(bytes, shape);
      await fill(device, { [`${stagingFolder}/boot.pkg`]: mine, 'after.txt': Buffer.from('after') });
      const log = await change(device, (volume) => volume.rename(`${stagingFolder}/boot.pkg`, 'boot.pkg'));
      const both = log.after(log.writes.length - 1);
      expect(Object.keys(await listMemory(both.copy()))).toEqual([`${stagingFolder}/`, 'after.txt', 'boot.pkg']);
      await change(both, async (volume) => {
        await volume.removeFolder(stagingFolder);
        const writer = await volume.create('more.bin', 2000);
        await writer.write(noise(3, 2000));
        await writer.close();
      });
      const content = await listMemory(both);
      expect([content['boot.pkg'], content['more.bin']]).toEqual([sha256(mine), sha256(noise(3, 2000))]);
    });
  });
}
