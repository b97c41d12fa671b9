import { appendFileSync, existsSync, mkdirSync, readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { onBus } from '../fixtures/bus/desk.ts';
import { Guest } from '../fixtures/bus/guest.ts';
import { missingForGuest } from '../fixtures/bus/make-boot.ts';
import { PullSetting, type Way } from '../fixtures/bus/pull-setting.ts';
import { type Pull, pullBatch } from '../fixtures/bus/pulls.ts';
import { CutSetting } from '../fixtures/kernel/cut-at-writes.ts';
import { stickPrograms } from '../fixtures/kernel/kernel-sticks.ts';
import { kernelPrograms } from '../fixtures/kernel/start-kernel.ts';
import { needs } from './needs.ts';

// Sticks pulled on QEMU's USB bus while they are prepared, at a write or when the computer's power goes; Linux's own
// vfat and exfat, and our own writer of raw FAT. `npm run sticks` takes more of them, and goes on where it stopped.
const byHand = process.env.STICKWRIGHT_STICKS === 'all';
const seed = Number(process.env.STICKWRIGHT_SEED ?? 1);
const pullsOfWay = Number(process.env.STICKWRIGHT_PULLS ?? 1);
const untilMs = performance.now() + Number(process.env.STICKWRIGHT_MINUTES ?? 600) * 60_000;
const atOnce = byHand ? 6 : 1;
const cutAtOnce = 16;

describe('sticks pulled while they are prepared', () => {
  let guest: Guest;
  beforeAll(async () => {
    if (missingForGuest() === '') guest = await Guest.boot();
  }, 300_000);
  afterAll(() => guest?.off());

  for (const [at, way] of (['vfat', 'exfat', 'raw'] as const).entries())
    onBus(
      `${way}: none is falsely ready, no file is lost, and the same command finishes each or says how`,
      {
        tags: ['work-goes-on', 'nobodys-files-vanish', 'never-half-a-file', 'ready-is-on-the-medium'],
        timeout: 36_000_000,
      },
      async () => {
        const done = keptPulls(way, atOnce);
        // In `npm test` each way takes another one: something else lay on those sticks before.
        const first = byHand ? done.length / atOnce : at;
        const setting = new PullSetting(guest, way, seed);
        try {
          await setting.open();
          for (let batch = first; done.length < pullsOfWay && performance.now() < untilMs; batch++)
            for (const pull of await pullBatch(setting, batch, atOnce)) {
              done.push(pull);
              if (byHand) appendFileSync(fileOf(way), `${JSON.stringify(pull)}\n`);
            }
        } finally {
          setting.close();
        }
        expect(done.filter(({ faults }) => faults.length > 0)).toEqual([]);
        expect(done.length).toBeGreaterThanOrEqual(byHand ? 1 : pullsOfWay);
      },
    );
});

// By Linux's own vfat in user-mode Linux, where a cut is made of a recorded preparation; sixteen sticks a start.
if (byHand)
  describe('sticks whose power goes at a write', () => {
    needs({ ...kernelPrograms, ...stickPrograms, dmsetup: 'dmsetup' })(
      'vfat in user-mode Linux: none is falsely ready, no file is lost, and the same command finishes each or says how',
      { tags: ['work-goes-on', 'nobodys-files-vanish', 'never-half-a-file'], timeout: 36_000_000 },
      async () => {
        const done = keptPulls('uml', cutAtOnce);
        const setting = new CutSetting(seed);
        try {
          await setting.open();
          for (
            let batch = done.length / cutAtOnce;
            batch * cutAtOnce < pullsOfWay && performance.now() < untilMs;
            batch++
          )
            for (const cut of await setting.cutBatch(batch, cutAtOnce)) {
              done.push(cut);
              appendFileSync(fileOf('uml'), `${JSON.stringify(cut)}\n`);
            }
        } finally {
          setting.close();
        }
        expect(done.filter(({ faults }) => faults.length > 0)).toEqual([]);
        expect(done.length).toBeGreaterThanOrEqual(1);
      },
    );
  });

/** A line for each pull. */
function fileOf(way: Way | 'uml'): string {
  mkdirSync('out/sticks', { recursive: true });
  return `out/sticks/${way}-${seed}.jsonl`;
}

/** Of an earlier sitting with this seed; a batch that was not finished is taken again. */
function keptPulls(way: Way | 'uml', atOnce: number): Pull[] {
  const path = fileOf(way);
  if (!byHand || !existsSync(path)) return [];
  const lines = readFileSync(path, 'utf8').trim().split('\n');
  return lines.slice(0, lines.length - (lines.length % atOnce)).map((line) => JSON.parse(line) as Pull);
}
