import { spawn } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, vi } from 'vitest';
import { severityOf } from '../../src/core/findings/finding.ts';
import { findMedium } from '../../src/io/format/find-medium.ts';
import { formatMedium } from '../../src/io/format/format-medium.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { makeArchive, panelLabel, prepare, testPorts } from '../fixtures/desk.ts';
import { canMount, unmount } from '../fixtures/volumes/mounts.ts';
import { makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

const scratch = makeScratch();
afterAll(() => scratch.undo());

const running = { tell: () => {}, signal: new AbortController().signal };

/** IMAGE as nbdkit and nbdfuse (libnbd) show it: a file that is read and written, and that keeps its length. */
async function serve({ path, later }: Scratch, image: string): Promise<string> {
  const point = join(path, 'served');
  const file = join(point, 'stick.img');
  mkdirSync(point);
  spawn('nbdfuse', [file, '--command', 'nbdkit', '-s', 'file', image], { stdio: 'ignore' });
  later(() => unmount(point));
  await vi.waitFor(() => expect(existsSync(file)).toBe(true), { timeout: 10_000 });
  return file;
}

const itServed = canMount
  ? needs({ nbdfuse: 'libnbd-bin', nbdkit: 'nbdkit', 'fsck.fat': 'dosfstools', mdir: 'mtools' })
  : itWithout('the right to mount (run as root)');

describe('an image file whose length cannot be changed', () => {
  itServed('is cleared as a drive is, formatted, prepared and verified, and sound to others', async () => {
    const backing = join(scratch.path, 'backing.img');
    writeFileSync(backing, Buffer.alloc(64 * 2 ** 20, 'EFI PART'));
    const target = await serve(scratch, backing);
    const wish = { fileSystem: 'fat32', clusterBytes: undefined, volumeLabel: 'PANEL', volumeSerial: 7 } as const;
    const place = await findMedium(target, { mayBeNew: false });
    await formatMedium(place, { ...wish, at: '2026-09-14T08:00:00Z' }, { heard: () => {}, signal: running.signal });
    const archivePath = await makeArchive(scratch.path);
    const { report } = await prepare({ archivePath, targets: [target], mode: 'recovery' });
    expect(report.sticks[0]).toMatchObject({ state: 'written', error: undefined });
    const request = { target, label: panelLabel, quick: false, replugged: true };
    const verified = await verifyStick(request, testPorts, running);
    expect(verified.findings.filter((found) => severityOf(found) === 'stop')).toEqual([]);
    expect(verified.filesRead).toBe(verified.manifest?.files.length);
    unmount(join(scratch.path, 'served'));
    // 512 bytes a sector; the table and the first megabyte lie before the volume (make-stick layout, README "Sticks").
    const volume = join(scratch.path, 'volume.img');
    writeFileSync(volume, readFileSync(backing).subarray(2 ** 20));
    expect(run('fsck.fat', '-n', volume)).not.toMatch(/differ|corrupt|dirty/i);
    expect(run('mdir', '-b', '-i', volume, '::')).toContain('sedge_boot.pkg');
    expect(
      readFileSync(backing)
        .subarray(0, 2 ** 20)
        .includes('EFI PART'),
    ).toBe(false);
  });
});
