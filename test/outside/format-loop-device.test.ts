import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { customaryRules } from '../../src/core/model/customary-rules.ts';
import type { Losses } from '../../src/core/report/medium-reports.ts';
import { findMedium, listLosses } from '../../src/io/format/find-medium.ts';
import { formatMedium, planFormat } from '../../src/io/format/format-medium.ts';
import { proveMedium } from '../../src/io/prove/prove-medium.ts';
import { formatStick } from '../../src/workflows/format-stick.ts';

const folder = mkdtempSync(join(tmpdir(), 'format-loop-'));
const mountPoint = join(folder, 'mounted');
const run = (program: string, ...args: readonly string[]) => spawnSync(program, [...args], { encoding: 'utf8' });
let loop = '';
afterAll(() => {
  if (loop !== '') {
    run('umount', mountPoint);
    run('losetup', '-d', loop);
  }
  rmSync(folder, { recursive: true, force: true });
});

/**
 * A mounted ext4 volume on a loop device: the nearest to a plugged stick that a computer without one has. Needs root.
 */
function plugIn(): string | undefined {
  const image = join(folder, 'stick.img');
  writeFileSync(image, '');
  truncateSync(image, 80 * 2 ** 20);
  if (process.platform !== 'linux' || process.getuid?.() !== 0) return 'the right to mount (run as root)';
  if (run('mkfs.ext4', '-q', image).status !== 0) return 'mkfs.ext4 (apt-get install e2fsprogs)';
  const attached = run('losetup', '-f', '--show', '--direct-io=on', image);
  if (attached.status !== 0) return 'the right to attach loop devices (run as root)';
  loop = attached.stdout.trim();
  mkdirSync(mountPoint);
  if (run('mount', loop, mountPoint).status !== 0) return 'the right to mount (run as root)';
  writeFileSync(join(mountPoint, 'HOLIDAY.JPG'), 'picture');
  return undefined;
}

describe('a stick that is mounted', () => {
  const hindrance = plugIn();
  const check = hindrance === undefined ? it : it.skip;
  const reason = hindrance === undefined ? '' : ` [did not run: ${hindrance}]`;

  check(`is shown, unmounted, formatted, read back, and proved${reason}`, async () => {
    let losses: Losses | undefined;
    const wish = {
      fileSystem: 'fat32',
      clusterBytes: undefined,
      volumeLabel: 'PANEL',
      volumeSerial: 7,
      at: '2026-09-14T08:00:00Z',
    } as const;
    const report = await formatStick(
      { target: loop, mode: 'recovery', rules: customaryRules('recovery'), wish, imageBytes: undefined },
      { findMedium, listLosses, planFormat, formatMedium },
      {
        tell: () => {},
        signal: new AbortController().signal,
        propose: async (proposal) => {
          losses = proposal.losses;
          expect(proposal.plan.commands).toEqual([`umount ${mountPoint}`]);
        },
        agree: async () => true,
      },
    );
    expect(losses?.names).toContain('HOLIDAY.JPG');
    expect(losses?.volumes.map(({ fileSystem }) => fileSystem)).toEqual(['ext']);
    expect(report).toMatchObject({ state: 'formatted', verdict: 'ready', findings: [] });
    expect(run('findmnt', '--source', loop).status).not.toBe(0);
    expect(run('blkid', '-p', '-O', String(2 ** 20), loop).stdout).toContain('VERSION="FAT32"');

    const medium = await findMedium(loop, { mayBeNew: false });
    const facts = await proveMedium(medium, 'whole', { signal: new AbortController().signal, heard: () => {} });
    expect(facts).toMatchObject({
      finished: true,
      testedBytes: medium.bytes,
      readBack: report.readBack,
      bad: undefined,
    });
  });
});
