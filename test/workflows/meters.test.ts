import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it, vi } from 'vitest';
import { customaryRules } from '../../src/core/model/customary-rules.ts';
import type { WorkEvent } from '../../src/core/report/reports.ts';
import { findMedium, listLosses } from '../../src/io/format/find-medium.ts';
import { formatMedium, planFormat } from '../../src/io/format/format-medium.ts';
import { proveFreeSpace } from '../../src/io/prove/prove-free-space.ts';
import { newSeed, proveMedium } from '../../src/io/prove/prove-medium.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { formatStick, proveStick } from '../../src/workflows/format-stick.ts';
import { prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { firmwareTree, makeArchive, requestFor, testPorts } from '../fixtures/desk.ts';
import { attachLoop, canMount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, makeSparse } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

vi.setConfig({ testTimeout: 240_000 });

const folder = mkdtempSync(join(tmpdir(), 'stickwright meters-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const mib = 2 ** 20;
const loops = canMount ? needs({ losetup: 'mount' }) : itWithout('the right to attach loop devices (run as root)');

/** What a person sees of a piece of work: each stage from nothing to all of it, never back and never beyond. */
function meter() {
  const events: WorkEvent[] = [];
  return {
    running: { tell: (event: WorkEvent) => void events.push(event), signal: new AbortController().signal },
    events,
    expectFull(stages: readonly string[]) {
      const begun = events.filter((event) => event.kind === 'stage');
      expect(begun.map(({ stage }) => stage)).toEqual(stages);
      for (const { stage, target, totalBytes } of begun) {
        if (totalBytes === 0) continue; // it has nothing to count, and says only that it is
        const heard = events.filter(
          (event) => event.kind === 'progress' && event.stage === stage && event.target === target,
        ) as Extract<WorkEvent, { kind: 'progress' }>[];
        const done = heard.map(({ doneBytes }) => doneBytes);
        expect(done, stage).toEqual(done.toSorted((one, other) => one - other));
        const last = heard.at(-1);
        expect(last?.totalBytes, stage).toBeGreaterThan(0);
        expect(last?.doneBytes, `${stage} ends at ${last?.doneBytes} of ${last?.totalBytes}`).toBe(last?.totalBytes);
      }
    },
  };
}

const formatPorts = { findMedium, listLosses, planFormat, formatMedium };
const provePorts = {
  findMedium,
  listLosses,
  openVolume,
  proveMedium,
  proveFreeSpace: (volume: Parameters<typeof proveFreeSpace>[0], running: Parameters<typeof proveMedium>[2]) =>
    proveFreeSpace(volume, { ...running, seed: newSeed() }),
};
const asked = { propose: async () => {}, agree: async () => true };

describe('the meter', () => {
  loops('of format on a drive ends full, in writing and in reading back', async () => {
    const scratch = makeScratch();
    try {
      const target = attachLoop(scratch, makeSparse(join(scratch.path, 'drive.img'), 64 * mib));
      const wish = {
        fileSystem: 'fat32',
        clusterBytes: undefined,
        volumeLabel: 'PANEL',
        volumeSerial: 7,
        at: '2026-09-14T08:00:00Z',
      } as const;
      const request = {
        target,
        mode: 'recovery',
        rules: customaryRules('recovery'),
        imageBytes: undefined,
        wish,
      } as const;
      const { running, expectFull } = meter();
      const report = await formatStick(request, formatPorts, { ...running, ...asked });
      expect(report.state).toBe('formatted');
      expectFull(['writing', 'reading-back']);
    } finally {
      scratch.undo();
    }
  });

  it.each(['whole', 'sample'] as const)('of prove ends full: %s', async (how) => {
    const target = makeSparse(join(folder, `${how}.img`), 64 * mib);
    const { running, expectFull } = meter();
    await proveStick({ target, how }, provePorts, { ...running, ...asked });
    expectFull(['writing', 'reading-back']);
  });

  it('of prepare and of verify ends full', async () => {
    const archivePath = await makeArchive(folder);
    const target = await makeFatImage(join(folder, 'stick.img'), 64 * mib, {
      kind: 'fat32',
      clusterBytes: 512,
      partitioned: true,
    });
    const preparing = meter();
    const request = await requestFor({ archivePath, targets: [target], agreed: true });
    await prepareSticks(request, testPorts, { ...preparing.running, ...asked });
    preparing.expectFull(['writing', 'reading', 'flushing', 'reading-back', 'finishing']);
    const jobs = preparing.events.flatMap((event) => (event.kind === 'stage' && event.job ? [event.job] : []));
    expect(jobs.map(({ step, steps }) => `${step} of ${steps}`)).toEqual(['1 of 4', '2 of 4', '3 of 4', '4 of 4']);
    // Nothing before the first step, everything before the last: the share of the whole never goes back.
    const written = Object.values(firmwareTree).reduce((sum, bytes) => sum + bytes.length, 0);
    expect(jobs.map(({ beforeBytes }) => beforeBytes)).toEqual([0, written, written, 2 * written]);
    expect(jobs.map(({ allBytes }) => allBytes)).toEqual(jobs.map(() => 2 * written));
    expect(preparing.events.at(-1)).toEqual({ kind: 'end', target, state: 'written' });
    const verifying = meter();
    const question = { target, label: undefined, mode: undefined, quick: false, replugged: false, sealFrom: undefined };
    await verifyStick(question, testPorts, verifying.running);
    verifying.expectFull(['reading']);
  });
});
