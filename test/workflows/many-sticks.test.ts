import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { chooseTargets } from '../../src/cli/stick/targets.ts';
import type { Drive } from '../../src/core/model/drive.ts';
import type { WorkEvent } from '../../src/core/report/reports.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { OpenVolume } from '../../src/io/volume/volume.ts';
import { prepareSticks } from '../../src/workflows/prepare-sticks.ts';
import { mostWaitingBytes } from '../../src/workflows/stick/fan-out.ts';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { stickwright } from '../fixtures/command.ts';
import { contentAt, makeArchive, panelLabel, prepare, requestFor, sha256, testPorts } from '../fixtures/desk.ts';
import { canMount, mountVolume, programsFor, unmount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from '../outside/needs.ts';

let folder: string;
let archivePath: string;
const tree = {
  'sedge_boot.pkg': Buffer.alloc(1_000_000, 1),
  'images/system.img': Buffer.alloc(30_000_000, 2),
  'images/touch.img': Buffer.alloc(5000, 3),
};

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright many-'));
  archivePath = await makeArchive(folder, tree);
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const stops = [
  'file-system-not-taken',
  'partition-table-not-taken',
  'larger-than-the-panel-takes',
  'several-partitions',
];
const accepted = new Map(stops.map((code) => [`stick/${code}`, 'a folder in a test']));

const newFolder = (name: string): string => {
  const path = join(folder, name);
  mkdirSync(path);
  return path;
};

const verify = (target: string) =>
  verifyStick({ target, label: panelLabel, quick: false, replugged: true }, testPorts, {
    tell: () => {},
    signal: new AbortController().signal,
  });

describe('several sticks from one pass', { tags: ['archive-read-once'] }, () => {
  const mounting = canMount ? needs(programsFor.tmpfs) : itWithout('the right to mount (run as root)');
  mounting('one vanishes: it says so, the other three are finished, each with its own manifest', async () => {
    const scratch = makeScratch();
    const vanishing = mountVolume(scratch, 'tmpfs', 60);
    try {
      const image = await makeFatImage(join(folder, 'one of four.img'), 80 * 2 ** 20, {
        kind: 'fat32',
        clusterBytes: 512,
        partitioned: true,
      });
      const targets = [newFolder('first'), vanishing, image, newFolder('fourth')];
      const events: WorkEvent[] = [];
      let codes = 0;
      const ports = { ...testPorts, newStickCode: () => `ACD-47${codes++}` };
      const report = await prepareSticks(await requestFor({ archivePath, targets, accepted }), ports, {
        tell: (event) => {
          events.push(event);
          const isHalfWay = event.kind === 'progress' && event.stage === 'writing' && event.doneBytes > 8_000_000;
          if (isHalfWay && event.target === vanishing) unmount(vanishing);
        },
        signal: new AbortController().signal,
        propose: async () => {},
        agree: async () => true,
      });
      expect(report.sticks.map(({ state }) => state)).toEqual(['written', 'unfinished', 'written', 'written']);
      expect(report.sticks[1]?.error?.code).toBe('stick/gone');
      expect(report.verdict).toBe('not-ready');
      const manifests = report.sticks.flatMap(({ manifest }) => (manifest === undefined ? [] : [manifest.stick]));
      expect(new Set(manifests).size).toBe(3);
      for (const [index, target] of targets.entries()) {
        const stages = events.filter((event) => event.kind === 'stage' && event.target === target);
        expect(stages.length).toBe(index === 1 ? 1 : 4);
        if (index === 1) expect(Object.keys(await contentAt(target))).toEqual([]);
        else expect((await verify(target)).verdict).not.toBe('not-ready');
      }
    } finally {
      scratch.undo();
    }
  });

  it('a slow one holds the others up only when it is a bounded number of bytes behind', async () => {
    const [slow, quick] = [newFolder('slow'), newFolder('quick')];
    const done = new Map<string, number>();
    let open = (): void => {};
    const gate = new Promise<void>((resolve) => {
      open = resolve;
    });
    let held = 0;
    const openSlow: OpenVolume = async (target, access) => {
      const volume = await openVolume(target, access);
      if (target !== slow || access === 'read') return volume;
      const create = volume.create.bind(volume);
      volume.create = async (path, bytes) => {
        held++;
        await gate;
        return create(path, bytes);
      };
      return volume;
    };
    const running = prepareSticks(
      await requestFor({ archivePath, targets: [slow, quick], accepted }),
      { ...testPorts, openVolume: openSlow },
      {
        tell: (event) => {
          if (event.kind === 'progress' && event.stage === 'writing') done.set(event.target, event.doneBytes);
        },
        signal: new AbortController().signal,
        propose: async () => {},
        agree: async () => true,
      },
    );
    // Until nothing moves any more: the pass waits for the slow stick.
    for (let seen = -1, still = 0; still < 30; ) {
      await new Promise((resolve) => setTimeout(resolve, 20));
      still = held > 0 && done.get(quick) === seen ? still + 1 : 0;
      seen = done.get(quick) ?? 0;
    }
    const ahead = (done.get(quick) ?? 0) - (done.get(slow) ?? 0);
    open();
    const { sticks } = await running;
    expect(sticks.map(({ state }) => state)).toEqual(['written', 'written']);
    expect(ahead).toBeGreaterThan(mostWaitingBytes / 2);
    expect(ahead).toBeLessThan(mostWaitingBytes + 2 ** 21);
    expect(await contentAt(slow)).toMatchObject({ 'images/system.img': sha256(tree['images/system.img']) });
  });

  it('named twice, a stick is written once', async () => {
    const target = newFolder('twice');
    const { report } = await prepare({ archivePath, targets: [target, target], accepted });
    expect(report.sticks.map(({ state }) => state).sort()).toEqual(['failed', 'written']);
    expect(report.sticks.find(({ state }) => state === 'failed')?.error?.code).toBe('stick/in-use');
    expect((await verify(target)).verdict).not.toBe('not-ready');
  });

  it('the exit code is the worst of all', () => {
    const target = newFolder('with a missing one');
    const because = stops.flatMap((code) => ['--accept', `stick/${code}`, '--because', 'a folder in a test']);
    const words = [
      'prepare',
      archivePath,
      '--mode',
      'recovery',
      '--label',
      panelLabel,
      '--running',
      'reed.746',
      '--yes',
      ...because,
    ];
    const { exitCode, stdout } = stickwright([...words, '--stick', target, '--stick', join(folder, 'not there')]);
    expect(exitCode).toBe(3);
    expect(stdout).toContain('stick/not-found');
    expect(stdout).toContain('Written, read back and recorded');
  });
});

const noDrives = async () => [];

describe('--stick all', () => {
  const drive = (device: string, more: object): Drive =>
    ({
      device,
      maker: undefined,
      model: 'invented',
      serial: undefined,
      bytes: 16e9,
      removable: true,
      usb: true,
      holdsSystem: false,
      readOnly: false,
      partitionTable: 'mbr',
      volumes: [],
      refusedBecause: undefined,
      ...more,
    }) as unknown as Drive;
  const volume = (mountPoints: readonly string[]) => ({
    device: '/dev/x1',
    mountPoints,
    fileSystem: 'fat32',
    label: undefined,
    bytes: undefined,
    freeBytes: undefined,
    clusterBytes: undefined,
    readOnly: undefined,
  });

  it('takes every drive that may be written, by its mounted folder or as it is, and says which it leaves out', async () => {
    const said: string[] = [];
    const drives = [
      drive('/dev/sda', { usb: false, holds: ['the running system'], refusedBecause: 'it holds the running system' }),
      drive('/dev/sdb', { volumes: [volume(['/media/one'])] }),
      drive('/dev/sdc', { volumes: [volume([])] }),
      drive('/dev/sdd', { readOnly: true }),
      drive('/dev/sdf', {
        volumes: [volume(['/media/tool'])],
        holds: ['this tool'],
        refusedBecause: 'it holds this tool',
      }),
      drive('/dev/sde', { volumes: [volume(['/media/a']), volume(['/media/b'])] }),
    ];
    const targets = await chooseTargets(
      ['all'],
      (line) => said.push(line),
      async () => drives,
    );
    expect(targets).toEqual(['/media/one', '/dev/sdc']);
    expect(said.map((line) => line.split(' ')[2])).toEqual(['/dev/sdd', '/dev/sdf', '/dev/sde']);
    expect(said.join('\n')).toContain('it holds this tool');
    expect(await chooseTargets(['E:', 'F:'], () => {}, noDrives)).toEqual(['E:', 'F:']);
  });

  it('where there is none, or others are named too, is wrong usage', async () => {
    await expect(chooseTargets(['all'], () => {}, noDrives)).rejects.toThrow(/No stick is plugged in/);
    await expect(chooseTargets(['all', 'E:'], () => {}, noDrives)).rejects.toThrow(/stands for every stick/);
  });
});
