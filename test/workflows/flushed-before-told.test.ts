import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { manifestPath } from '../../src/core/manifest/stick-names.ts';
import { proveFreeSpace } from '../../src/io/prove/prove-free-space.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { OpenVolume, Volume } from '../../src/io/volume/volume.ts';
import { prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { makeArchive, noise, requestFor, testPorts } from '../fixtures/desk.ts';
import { comeBack, returnedPorts } from '../fixtures/returned.ts';
import { makeFatImage, makeScratch } from '../fixtures/volumes/scratch.ts';

const scratch = makeScratch();
let archivePath: string;
beforeAll(async () => {
  archivePath = await makeArchive(scratch.path);
});
afterAll(() => scratch.undo());

/** Volumes that remember what was changed on them and not flushed since; closing counts as too late. */
function watched() {
  const changes: { readonly change: string; readonly waiting: readonly string[] }[] = [];
  const waiting = new Set<string>();
  const changing = new Set(['makeFolder', 'create', 'rename', 'removeFile', 'removeFolder']);
  const open: OpenVolume = async (target, access, options) => {
    const volume = await openVolume(target, access, options);
    return new Proxy(volume, {
      get(_, name) {
        const value = volume[name as keyof Volume];
        if (typeof value !== 'function') return value;
        return async (...args: unknown[]) => {
          const before = [...waiting];
          if (changing.has(String(name)))
            changes.push({ change: `${String(name)} ${String(args[0])}`, waiting: before });
          const answer = await (value as (...all: unknown[]) => unknown).apply(volume, args);
          if (changing.has(String(name))) waiting.add(`${String(name)} ${String(args[0])}`);
          if (name === 'flush') for (const change of before) waiting.delete(change);
          return answer;
        };
      },
    });
  };
  return { open, waiting: () => [...waiting], changes };
}

const folderStops = ['file-system-not-taken', 'partition-table-not-taken', 'larger-than-the-panel-takes'];
const accepted = new Map(folderStops.map((code) => [`stick/${code}`, 'a folder in a test']));
const running = { signal: new AbortController().signal, propose: async () => {}, agree: async () => true };

for (const kind of ['folder', 'image'] as const) {
  it(`nothing waits to be flushed when the ${kind} is said to be prepared, cleared or proven`, {
    tags: ['ready-is-on-the-medium'],
  }, async () => {
    const target = join(scratch.path, kind);
    if (kind === 'folder') mkdirSync(target);
    else await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
    if (kind === 'folder') writeFileSync(join(target, 'reed.1096_5B_first_home.zip'), noise(7, 5000));
    const { open, waiting } = watched();
    const ports = { ...testPorts, openVolume: open };
    const atRecord: (readonly string[])[] = [];
    const request = await requestFor({ archivePath, targets: [target], leftovers: 'set-aside', accepted });
    const report = await prepareSticks(request, ports, {
      ...running,
      tell: (event) => {
        if (event.kind === 'item' && event.item.action === 'record') atRecord.push(waiting());
      },
    });
    expect(report.sticks[0]?.state).toBe('written');
    expect(atRecord).toEqual([[]]);
    expect(waiting()).toEqual([]);
    const cleared = await comeBack({ target, clear: true }, { ...returnedPorts, openVolume: open });
    expect(cleared.clearing?.state).toBe('cleared');
    expect(waiting()).toEqual([]);
    if (kind === 'folder') return; // it would fill the machine's own disk
    const volume = await open(target, 'write');
    await proveFreeSpace(volume, { seed: '00'.repeat(8), signal: running.signal, heard: () => {} });
    expect(waiting()).toEqual([]);
    await volume.close();
  });
}

for (const kind of ['folder', 'image'] as const) {
  it(`an earlier record is withdrawn from the ${kind}, and that is on the medium before anything else changes`, {
    tags: ['never-half-a-file'],
  }, async () => {
    const target = join(scratch.path, `${kind} prepared before`);
    if (kind === 'folder') mkdirSync(target);
    else await makeFatImage(target, 64 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });
    const first = await requestFor({ archivePath, targets: [target], mode: 'in-os', accepted });
    const tell = (): void => {};
    expect((await prepareSticks(first, testPorts, { ...running, tell })).sticks[0]?.state).toBe('written');
    const { open, changes } = watched();
    const second = await requestFor({ archivePath, targets: [target], leftovers: 'remove', accepted });
    const report = await prepareSticks(second, { ...testPorts, openVolume: open }, { ...running, tell });
    expect(report.sticks[0]?.state).toBe('written');
    const withdrawal = `rename ${manifestPath}`;
    expect(changes.filter(({ change }) => change === withdrawal)).toHaveLength(1);
    const others = changes.filter(({ change }) => change !== withdrawal);
    expect(others.length).toBeGreaterThan(5);
    expect(others.filter(({ waiting }) => waiting.includes(withdrawal))).toEqual([]);
    expect(changes[0]?.change).toBe(withdrawal);
  });
}
