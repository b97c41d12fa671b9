import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import { textsOf } from '../../src/core/findings/finding.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import type { Ports } from '../../src/workflows/ports.ts';
import { makeArchive, noise, prepare, testPorts } from '../fixtures/desk.ts';
import { changeImage, ExfatStick, exfatPrograms } from '../fixtures/media/exfat-stick.ts';
import { attachLoop, canMount } from '../fixtures/volumes/mounts.ts';
import { makeFatImage, makeScratch, run, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

const outside = canMount
  ? needs({ ...exfatPrograms, nbdfuse: 'libnbd-bin', nbdkit: 'nbdkit', blockdev: 'util-linux' })
  : itWithout('the right to mount (run as root)');
const fat32 = { kind: 'fat32', clusterBytes: 512, partitioned: true } as const;
const accepted = new Map([['stick/partition-table-not-taken', 'a mounted image has none']]);

let scratch: Scratch;
beforeEach(() => {
  scratch = makeScratch();
});
afterEach(() => scratch.undo());

const makeSmall = () =>
  makeArchive(scratch.path, { 'sedge_boot.pkg': noise(1, 500_000), 'images/system.img': noise(2, 900_000) });

/** Ports that do something when this much of a file was handed to the stick. */
function portsThat(befalls: () => void, afterBytes = 200_000): Ports {
  let done = 0;
  let hasBefallen = false;
  return {
    ...testPorts,
    openVolume: async (...words) => {
      const volume = await openVolume(...words);
      return {
        ...volume,
        create: async (path, bytes) => {
          const writer = await volume.create(path, bytes);
          return {
            close: () => writer.close(),
            write: async (chunk) => {
              await writer.write(chunk);
              done += chunk.length;
              if (hasBefallen || done < afterBytes) return;
              hasBefallen = true;
              befalls();
            },
          };
        },
      };
    },
  };
}

/** Everything that is said of the one stick, in one line. */
async function told(wish: Partial<Parameters<typeof prepare>[0]> & { target: string }, ports?: Ports) {
  const { target, archivePath = await makeSmall(), ...rest } = wish;
  const { report } = await prepare({ ...rest, archivePath, targets: [target] }, ports);
  const [stick] = report.sticks;
  const findings = (stick?.findings ?? []).map((found) => {
    const { seen, todo } = textsOf(found);
    return `${found.code}: ${seen} ${todo}`;
  });
  const error = stick?.error;
  const failure = error === undefined ? '' : `${error.code}: ${error.message}. ${error.todo}`;
  return { state: stick?.state, said: [...findings, failure].join('\n') };
}

/** A file that is a stick of BYTES which takes and gives no more than BITS a second, and the process that makes it. */
async function slowStick(bytes: number, bits: number): Promise<{ file: string; server: number }> {
  const [folder, image] = [join(scratch.path, 'slow'), join(scratch.path, 'slow.img')];
  mkdirSync(folder);
  await makeFatImage(image, bytes, fat32);
  const file = join(folder, 'stick');
  writeFileSync(join(scratch.path, 'nothing'), '');
  const server = spawn('nbdfuse', [file, '--command', 'nbdkit', '-s', '--filter=rate', 'file', image, `rate=${bits}`], {
    stdio: 'ignore',
  });
  scratch.later(() => {
    spawnSync('fusermount3', ['-u', folder]);
    server.kill('SIGKILL');
  });
  while (!existsSync(file)) await wait(50);
  return { file, server: server.pid ?? 0 };
}

describe('what befalls a stick is said as that, with what to do with this one', { tags: ['work-goes-on'] }, () => {
  outside('it vanishes', async () => {
    const { file, server } = await slowStick(40 * 2 ** 20, 8e9);
    const { state, said } = await told(
      { target: file },
      portsThat(() => process.kill(server, 'SIGKILL')),
    );
    expect(state).toBe('unfinished');
    expect(said).toMatch(/stick\/gone: .*Plug the stick in again and run the same command/);
    expect(said).not.toMatch(/retire|swapped/);
  });

  outside('another one is there when the plan is agreed to', async () => {
    const [planned, other] = [new ExfatStick(scratch, 'one', 16), new ExfatStick(scratch, 'two', 16)];
    planned.mount();
    const before = readFileSync(other.image);
    let opened = 0;
    const ports: Ports = {
      ...testPorts,
      openVolume: async (...words) => {
        opened++;
        if (opened === 2) {
          planned.eject();
          other.mountAt(planned.point);
        }
        return openVolume(...words);
      },
    };
    const { state, said } = await told({ target: planned.point, mode: 'in-os', accepted }, ports);
    expect(state).not.toBe('written');
    expect(said).toMatch(/stick\/swapped: .*its volume serial was \S+ and is \S+\. Nothing was written.*right stick/);
    other.eject();
    expect(readFileSync(other.image).findIndex((byte, at) => byte !== before[at] && at !== 106)).toBe(-1);
  });

  outside('it goes read-only in the middle', async () => {
    const image = await makeFatImage(join(scratch.path, 'stick.img'), 40 * 2 ** 20, fat32);
    const device = attachLoop(scratch, image);
    scratch.later(() => spawnSync('blockdev', ['--setrw', device]));
    const first = await told(
      { target: device },
      portsThat(() => run('blockdev', '--setro', device)),
    );
    expect(first.state).toBe('unfinished');
    expect(first.said).toMatch(/stick\/read-only: the stick took writes and takes none any more/);
    expect(first.said).toMatch(/check and repair it \(fsck, .*goes on where it stopped/);
    // The same command, while it still is.
    const second = await told({ target: device });
    expect(second.said).toMatch(
      /stick\/read-only: The stick itself says that it takes no writes\. Move its lock switch/,
    );
    run('blockdev', '--setrw', device);
    expect((await told({ target: device })).state).toBe('written');
  });

  outside('it is mounted read-only: by somebody, and because it is damaged', async () => {
    const stick = new ExfatStick(scratch, 'stick', 16);
    const wish = { target: stick.point, mode: 'in-os', accepted } as const;
    stick.mount('-o', 'ro');
    expect((await told(wish)).said).toMatch(/stick\/read-only: The operating system has it mounted read-only/);
    stick.eject();
    changeImage(stick.image, (bytes) => bytes.writeUInt8(2, 106)); // VolumeDirty
    stick.mount('-o', 'ro');
    expect((await told(wish)).said).toMatch(
      /stick\/read-only: .* it carries the mark of an unfinished write.*repair it/,
    );
    stick.eject();
  });

  outside('somebody fills it meanwhile', async () => {
    const stick = new ExfatStick(scratch, 'stick', 16);
    stick.mount();
    const fill = () =>
      spawnSync('dd', ['if=/dev/zero', `of=${join(stick.point, 'film.mp4')}`, 'bs=64k'], { stdio: 'ignore' });
    const wish = {
      target: stick.point,
      mode: 'in-os',
      accepted,
      archivePath: await makeArchive(scratch.path, { 'sedge_boot.pkg': noise(3, 3_000_000) }),
    } as const;
    const { state, said } = await told(wish, portsThat(fill));
    expect(state).toBe('unfinished');
    expect(said).toMatch(/stick\/full: the stick is full.*Free some space on the stick or take a larger one/);
    run('rm', join(stick.point, 'film.mp4'));
    expect((await told(wish)).state).toBe('written');
    stick.eject();
    expect(stick.complaint).toBeUndefined();
  });

  outside('it is very slow', { timeout: 200_000 }, async () => {
    const { file } = await slowStick(40 * 2 ** 20, 5e6);
    const archivePath = await makeArchive(scratch.path, {
      'sedge_boot.pkg': noise(4, 2 ** 23),
      'images/system.img': noise(5, 10),
    });
    const { state, said } = await told({ target: file, archivePath });
    expect(state).toBe('written');
    expect(said).toMatch(/stick\/slow: It took 8\.39 MB .* in \d+ s: \d{3} KB\/s.*Try another port without a hub/);
  });
});
