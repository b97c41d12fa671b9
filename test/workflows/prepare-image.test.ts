import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { ToolError } from '../../src/core/model/tool-error.ts';
import { flaw } from '../../src/core/volume-format/audit/flaw.ts';
import type { OpenOptions } from '../../src/io/volume/volume.ts';
import type { ImagePorts, Ports } from '../../src/workflows/ports.ts';
import { type ImageRequest, prepareImage } from '../../src/workflows/prepare-image.ts';
import { makeArchive, makePublishedArchive, requestFor } from '../fixtures/desk.ts';
import { memoryPorts, newStick } from '../fixtures/memory-sticks.ts';
import { codesOf } from '../fixtures/returned.ts';

let folder: string;
let archivePath: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright image-'));
  archivePath = await makePublishedArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const imagePath = 'to copy.img';

/** An image that lies in memory until it is finished, and what became of it. */
async function makeImage(wish: Partial<ImageRequest> = {}, others: Partial<Ports & ImagePorts> = {}) {
  const done: string[] = [];
  const opened: (OpenOptions | undefined)[] = [];
  const images: Parameters<ImagePorts['startImage']>[1][] = [];
  const ports: Ports & ImagePorts = {
    ...memoryPorts,
    startImage: async (_path, image) => {
      images.push(image);
      return await newStick();
    },
    finishImage: async (path) => {
      done.push(`finished ${path}`);
      return 'its hash';
    },
    discardImage: async (path) => void done.push(`discarded ${path}`),
    openVolume: (target, access, options) => {
      opened.push(options);
      return memoryPorts.openVolume(target, access, options);
    },
    ...others,
  };
  const { targets: _, ...job } = await requestFor({ archivePath, targets: [] });
  const running = { tell: () => {}, signal: new AbortController().signal };
  const made = await prepareImage({ ...job, imagePath, imageBytes: undefined, ...wish }, ports, {
    ...running,
    propose: async () => {},
    agree: async () => true,
  }).catch((error: unknown) => ({ error }));
  const { report, sha256: hash } = 'error' in made ? { report: undefined, sha256: made.error } : made;
  return { done, opened, image: images[0], report, stick: report?.sticks[0], hash };
}

describe('an image of a prepared stick', () => {
  test('is finished once it is written, under the name that the person gave', async () => {
    const { done, stick, hash, report } = await makeImage();
    expect([done, hash]).toEqual([[`finished ${imagePath}`], 'its hash']);
    expect(report?.sticks).toHaveLength(1);
    expect(stick).toMatchObject({ target: imagePath, state: 'written', verdict: 'ready' });
    // To read the image back proves nothing about the stick that it is copied to.
    expect([stick?.manifest?.readBack, codesOf(stick?.findings ?? []).includes('plan/image-to-copy')]).toEqual([
      'cache',
      true,
    ]);
  });

  test('that is not ready, or not written, is not left behind', async () => {
    const wrong = await makeImage({ label: 'K3-second 75/5B' });
    expect([wrong.done, wrong.hash, wrong.stick?.target]).toEqual([[`discarded ${imagePath}`], undefined, imagePath]);
    const dry = await makeImage({ dryRun: true });
    expect([dry.done, dry.hash, dry.stick?.state]).toEqual([[`discarded ${imagePath}`], undefined, 'planned']);
    // Written to its end, and then the sectors say that it is not read alike by all.
    let looks = 0;
    const auditMedium: Ports['auditMedium'] = async (...asked) => {
      const facts = await memoryPorts.auditMedium(...asked);
      const damaged = flaw('way-damaged', { count: 1, paths: ['sedge_boot.pkg'] });
      return ++looks < 2 ? facts : { ...facts, flaws: [...facts.flaws, damaged] };
    };
    const flawed = await makeImage({}, { auditMedium });
    expect([flawed.stick?.state, flawed.stick?.verdict]).toEqual(['written', 'not-ready']);
    expect([flawed.done, flawed.hash]).toEqual([[`discarded ${imagePath}`], undefined]);
  });

  test('is not left behind either where the archive or the disk fails', async () => {
    const failed = new ToolError('file/unreadable', archivePath, 'so it is', 'Do this.');
    const fail = async (): Promise<never> => {
      throw failed;
    };
    const unread = await makeImage({}, { findPublishedHashes: fail });
    expect([unread.done, unread.hash]).toEqual([[`discarded ${imagePath}`], failed]);
    const full = await makeImage({}, { finishImage: fail });
    expect([full.done, full.hash]).toEqual([[`discarded ${imagePath}`], failed]);
    const neverBegun = await makeImage({}, { startImage: fail });
    expect([neverBegun.done, neverBegun.hash]).toEqual([[], failed]);
  });

  test('of the same archive, mode, label and moment is the same, and of another none is', async () => {
    const moment = '2026-11-02T07:30:00.000Z';
    const drawn = async (wish: Partial<ImageRequest> = {}, others: Partial<Ports> = {}) => {
      const { image, stick, opened } = await makeImage(wish, others);
      return { serial: image?.volumeSerial, code: stick?.manifest?.stick, image, opened };
    };
    const first = await drawn();
    expect(await drawn()).toEqual(first);
    expect(first.code).toMatch(/^[ACDEFHJKLMNPRTWXY3479]{3}-[ACDEFHJKLMNPRTWXY3479]{3}$/);
    expect(new Set(first.code?.replace('-', '')).size).toBeGreaterThan(1);
    expect([first.serial, first.image?.at]).toEqual([expect.any(Number), moment]);
    expect([...new Set(first.opened.map((options) => options?.at))]).toEqual([moment]);
    const place = mkdtempSync(join(folder, 'other-'));
    const other = await makeArchive(place, {
      'sedge_boot.pkg': Buffer.from('x'),
      'images/system.img': Buffer.from('y'),
    });
    const others = [
      await drawn({ mode: 'in-os' }),
      await drawn({ label: 'K2-second 86/5B' }),
      await drawn({}, { now: () => '2026-11-02T07:30:01.000Z' }),
      await drawn({ archivePath: other, mode: 'in-os' }),
    ];
    for (const name of ['serial', 'code'] as const)
      expect(new Set([first, ...others].map((one) => one[name])).size, name).toBe(5);
  });

  test('is as large as the person says, else as small as holds it; its archive is let go before the run', async () => {
    expect((await makeImage({ imageBytes: 128 * 2 ** 20 })).image?.bytes).toBe(128 * 2 ** 20);
    expect((await makeImage()).image?.bytes).toBe(64 * 2 ** 20);
    let open = 0;
    let most = 0;
    await makeImage(
      {},
      {
        openArchive: async (path) => {
          most = Math.max(most, ++open);
          const archive = await memoryPorts.openArchive(path);
          return {
            ...archive,
            close: async () => {
              open--;
              await archive.close();
            },
          };
        },
      },
    );
    expect([most, open]).toEqual([1, 0]);
  });
});
