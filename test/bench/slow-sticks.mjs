import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { rmSync, statSync, writeFileSync } from 'node:fs';
import { setTimeout as pause } from 'node:timers/promises';

/**
 * Sticks of a speed that are plugged in: disks in memory that nbdkit lets nobody read or write faster, as files. Needs
 * nbdkit, nbdfuse, nbdcopy. MAKE_IMAGE makes an empty stick at a path.
 */
export function slowSticks(makeImage) {
  let plugged = [];

  async function plugIn(paths, bytesPerSecond) {
    await unplug();
    for (const path of paths) {
      const [empty, socket] = [`${path}.empty`, `${path}.socket`];
      await makeImage(empty);
      const { size } = statSync(empty);
      const rate = ['--filter=rate', `rate=${bytesPerSecond * 8}`, 'burstiness=0.2'];
      const server = spawn('nbdkit', ['-f', '-U', socket, 'memory', String(size), ...rate], { stdio: 'inherit' });
      while (!(statSync(socket, { throwIfNoEntry: false })?.isSocket() ?? false)) await pause(50);
      spawnSync('nbdcopy', [empty, `nbd+unix:///?socket=${socket}`], { stdio: 'inherit' });
      writeFileSync(path, '');
      const asFile = spawn('nbdfuse', [path, '--unix', socket], { stdio: 'inherit' });
      while (statSync(path).size !== size) await pause(50);
      plugged.push({ path, empty, socket, server, asFile });
    }
  }

  async function unplug() {
    for (const { path, empty, socket, server, asFile } of plugged) {
      spawnSync('fusermount3', ['-u', path], { stdio: 'inherit' });
      if (asFile.exitCode === null) await once(asFile, 'exit');
      server.kill();
      for (const file of [path, empty, socket]) rmSync(file, { force: true });
    }
    plugged = [];
  }

  return { plugIn, unplug, count: () => plugged.length };
}
