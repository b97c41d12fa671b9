import { spawnSync } from 'node:child_process';
import { pbkdf2 } from 'node:crypto';
import { mkdirSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import { auditMediumAt } from '../../../src/io/medium/audit-medium-at.ts';
import { openVolume } from '../../../src/io/volume/open-volume.ts';
import type { Volume } from '../../../src/io/volume/volume.ts';
import { attachLoop, canMount, mountVolume, programsFor, unmount } from '../../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, run, type Scratch } from '../../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../../outside/needs.ts';

const mounting = (programs: Readonly<Record<string, string>>) =>
  canMount ? needs(programs) : itWithout('the right to mount (run as root)');

let scratch: Scratch;
beforeEach(() => {
  scratch = makeScratch();
});
afterEach(() => scratch.undo());

const whatItSays = (work: () => Promise<unknown>): Promise<string> =>
  work().then(
    () => 'nothing',
    (error: unknown) => (error instanceof Error && 'code' in error ? String(error.code) : String(error)),
  );

const fat16 = { kind: 'fat16', clusterBytes: 2048, partitioned: true } as const;

/** As when the medium is taken out of a reader: the device stays, and has no bytes. */
function takeMediumOut(image: string, device: string): void {
  truncateSync(image, 0);
  run('losetup', '--set-capacity', device);
}

/**
 * Every thread of the pool has something to do, so what is asked next is only answered after the next synchronous
 * lines.
 */
function keepThreadsBusy(): void {
  for (let thread = 0; thread < 24; thread++) pbkdf2('', '', 60_000, 32, 'sha512', () => {});
}

describe('a mounted stick that vanishes while it is being asked', () => {
  const whileGone = async (ask: (volume: Volume) => Promise<unknown>): Promise<string> => {
    const point = mountVolume(scratch, 'tmpfs', 8);
    mkdirSync(join(point, 'images'));
    writeFileSync(join(point, 'images', 'system.img'), 'x');
    const volume = await openVolume(point, 'read');
    keepThreadsBusy();
    const said = whatItSays(() => ask(volume));
    unmount(point);
    return said;
  };

  mounting(programsFor.tmpfs)('is gone, and not an empty one', { tags: ['nobody-else'] }, async () => {
    expect(await whileGone((volume) => volume.entries())).toBe('stick/gone');
  });
  mounting(programsFor.tmpfs)('has no free space of the computer', { tags: ['nobody-else'] }, async () => {
    expect(await whileGone((volume) => volume.freeBytes())).toBe('stick/gone');
  });
});

describe('a drive whose medium is taken out', () => {
  const programs = { losetup: 'mount' };

  mounting(programs)('is gone, and neither damaged nor worn', { tags: ['nobody-else'] }, async () => {
    const image = await makeFatImage(join(scratch.path, 'stick.img'), 24 * 2 ** 20, fat16);
    const device = attachLoop(scratch, image);
    const volume = await openVolume(device, 'write');
    const writer = await volume.create('a.bin', 100);
    await writer.write(Buffer.alloc(100, 1));
    await writer.close();
    await volume.flush();
    takeMediumOut(image, device);
    spawnSync('blockdev', ['--flushbufs', device]);
    expect(await whatItSays(() => volume.open('a.bin', 'fresh'))).toBe('stick/gone');
    await volume.close().catch(() => {});
    expect(await whatItSays(() => openVolume(device, 'read'))).toBe('stick/gone');
    expect(await whatItSays(() => openVolume(device, 'write'))).toBe('stick/gone');
    expect(await whatItSays(() => auditMediumAt(device))).toBe('stick/gone');
  });
});

describe('the last write on a volume without room', () => {
  mounting(programsFor.fat32)(
    'says that it is full, whatever its driver says',
    { tags: ['work-goes-on'] },
    async () => {
      const point = mountVolume(scratch, 'fat32', 34);
      const volume = await openVolume(point, 'write');
      const bytes = (await volume.freeBytes()) + 1;
      const fill = async (): Promise<void> => {
        const writer = await volume.create('big.bin', 1);
        try {
          for (let left = bytes; left > 0; left -= 2 ** 20)
            await writer.write(Buffer.alloc(Math.min(left, 2 ** 20), 5));
        } finally {
          await writer.close();
        }
      };
      expect(await whatItSays(fill)).toBe('stick/full');
      await volume.removeFile('big.bin');
      await volume.close();
    },
  );
});
