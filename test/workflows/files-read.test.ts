import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { LayoutPlan } from '../../src/core/model/layout-plan.ts';
import type { FileSystem } from '../../src/core/model/stick-facts.ts';
import { ToolError } from '../../src/core/model/tool-error.ts';
import { contentOf, digestFiles, findHarmed } from '../../src/workflows/stick/read-back.ts';
import { crc32Of } from '../fixtures/archives/build-archive.ts';
import { firmwareTree, makeArchive, noise, sha256 } from '../fixtures/desk.ts';
import { memoryPorts, newStick, openingWith, openStick, prepare, putInto } from '../fixtures/memory-sticks.ts';

let folder: string;
let made: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright files-'));
  made = await newStick();
  await prepare({ archivePath: await makeArchive(folder), targets: [made] });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const { digesting } = memoryPorts;

describe('files that are read', { tags: ['ready-means-read-back'] }, () => {
  const paths = Object.keys(firmwareTree).map((path) => ({ path }));

  test('are answered in their order, with what was asked for; one that cannot be read is an answer too', async () => {
    const volume = await openStick(made, 'read');
    let heard = 0;
    const hear = (bytes: number): void => {
      heard += bytes;
    };
    const how = { digesting, crc: true, heard: hear };
    const outcomes = await digestFiles(volume, [...paths, { path: 'not/there' }], how);
    for (const [at, bytes] of Object.values(firmwareTree).entries())
      expect(contentOf(outcomes[at])).toEqual({
        sha256: sha256(bytes),
        crc32: crc32Of(bytes),
        bytes: bytes.length,
        readBack: 'medium',
      });
    expect(heard).toBe(Object.values(firmwareTree).reduce((sum, { length }) => sum + length, 0));
    expect(() => contentOf(outcomes[5])).toThrow(ToolError);
    expect(() => contentOf(outcomes[6])).toThrow('a file was not read');
    expect(contentOf((await digestFiles(volume, paths, { digesting }))[0]).crc32).toBe(0);
    await volume.close();
  });

  test('are read four side by side, and all have ended when an interruption is told', async () => {
    const controller = new AbortController();
    let open = 0;
    let most = 0;
    let opened = 0;
    const many = Array.from({ length: 12 }, () => ({ path: 'images/system.img' }));
    const volume = await openingWith((inner) => ({
      open: async (path, how) => {
        opened++;
        most = Math.max(most, ++open);
        const reader = await inner.open(path, how);
        return {
          readBack: reader.readBack,
          async *chunks() {
            try {
              for await (const chunk of reader.chunks()) {
                await new Promise(setImmediate);
                yield chunk;
              }
            } finally {
              open--;
            }
          },
        };
      },
    }))(made, 'read');
    await digestFiles(volume, many, { digesting });
    expect([most, opened, open]).toEqual([4, 12, 0]);
    opened = 0;
    const stop = new Error('stopped by a person');
    const heard = () => controller.abort(stop);
    const stopped = digestFiles(volume, many, { digesting, signal: controller.signal, heard });
    await expect(stopped).rejects.toBe(stop);
    expect([open, opened]).toEqual([0, 4]);
    await volume.close();
  });
});

describe('files that an earlier run left', { tags: ['ready-means-read-back'] }, () => {
  // Beyond this no volume that a panel reads has one cluster (FAT specification 1.03, and U-Boot's largest).
  const largestCluster = 65_536;
  const files = { 'fills one.img': noise(1, largestCluster), 'takes two.img': noise(2, largestCluster + 1) };
  const items = Object.entries(files).map(([path, bytes]) => {
    const origin = { from: 'entry', name: path } as const;
    return { action: 'keep', path, bytes: bytes.length, origin, staged: false } as const;
  });
  const plan = { items } as unknown as LayoutPlan;
  const others = new Map(Object.keys(files).map((path) => [path, 'what it should be']));

  /** What is found of files that are none of those they should be. */
  const harmed = async (fileSystem: FileSystem, more: Partial<Parameters<typeof findHarmed>[1]> = {}) => {
    const stick = await putInto(await newStick(), { ...files, 'SW-PART.TMP/x': Buffer.from('x') });
    const volume = await openingWith(({ facts }) => ({ facts: { ...facts, fileSystem } }))(stick, 'read');
    try {
      const planned = { plan, survey: { entries: await volume.entries() }, isMediumRead: false, ...more };
      return (await findHarmed(volume, planned, others, digesting)).map(({ path }) => path);
    } finally {
      await volume.close();
    }
  };

  test('and that fit one cluster may lie under what was written since; on exFAT, whose driver looks nowhere, all may', async () => {
    expect(await harmed('fat32')).toEqual(['fills one.img']);
    expect(await harmed('exfat')).toEqual(['fills one.img', 'takes two.img']);
  });

  test('are not read again where the drive itself was asked, or no run was cut off', async () => {
    expect(await harmed('fat32', { isMediumRead: true })).toEqual([]);
    expect(await harmed('fat32', { survey: { entries: [] } })).toEqual([]);
  });
});
