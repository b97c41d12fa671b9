import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { checkMedium } from '../../src/core/checks/medium/check-medium.ts';
import type { FormatWish, MediumPlace } from '../../src/core/report/medium-reports.ts';
import { formatMedium, planFormat } from '../../src/io/format/format-medium.ts';
import { cutVolume } from '../fixtures/media/cut-volume.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'format-exfat-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const outside = needs({ 'mkfs.exfat': 'exfatprogs', 'fsck.exfat': 'exfatprogs', blkid: 'util-linux', sfdisk: 'fdisk' });

describe('exFAT through the formatter of the system', () => {
  for (const bytes of [2 ** 28, 64e9]) {
    outside(`${bytes} bytes: fsck.exfat, blkid and sfdisk agree with our facts`, async () => {
      const path = join(folder, `${bytes}.img`);
      const place: MediumPlace = { target: path, kind: 'new-image', path, bytes, drive: undefined };
      const wish: FormatWish = {
        fileSystem: 'exfat',
        clusterBytes: undefined,
        volumeLabel: 'PANEL',
        volumeSerial: 7,
        at: '2026-09-14T08:00:00Z',
      };
      expect(planFormat(place, wish).commands).toEqual(['mkfs.exfat -L PANEL VOLUME']);
      const { made } = await formatMedium(place, wish, { signal: new AbortController().signal, heard: () => {} });
      expect(checkMedium(made, { target: path, mode: 'in-os' })).toEqual([]);
      const [volume] = made.volumes;
      expect(volume).toMatchObject({ fileSystem: 'exfat', label: 'PANEL', startByte: 2 ** 20, audited: true });

      const blkid = execFileSync('blkid', ['-p', '-o', 'export', '-O', String(2 ** 20), path], { encoding: 'utf8' });
      expect(blkid).toMatch(new RegExp(`LABEL=PANEL[\\s\\S]*UUID=${volume?.serial}[\\s\\S]*TYPE=exfat`));
      expect(execFileSync('sfdisk', ['-d', path], { encoding: 'utf8' })).toMatch(/start=\s*2048, size=\s*\d+, type=7/);
      const copy = join(folder, 'volume.img');
      cutVolume(path, copy, 64 * 2 ** 20);
      const check = spawnSync('fsck.exfat', ['-n', copy], { encoding: 'utf8' });
      expect({ status: check.status, out: check.stdout }).toMatchObject({
        status: 0,
        out: expect.stringContaining('clean'),
      });
    });
  }
});
