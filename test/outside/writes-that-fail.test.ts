import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { afterAll, describe, expect } from 'vitest';
import { firmwareTree, makeArchive, noise, packageName, panelLabel, sha256 } from '../fixtures/desk.ts';
import {
  exitCodesIn,
  makeStick,
  moveAllAgain,
  seeStick,
  stickPrograms,
  stickwrightInKernel,
} from '../fixtures/kernel/kernel-sticks.ts';
import { kernelPrograms, quoted, runInKernel } from '../fixtures/kernel/start-kernel.ts';
import { makeScratch, makeSparse, run } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

const scratch = makeScratch();
afterAll(() => scratch.undo());

const own = { 'holiday.jpg': noise(9, 20_000) };
const leftovers = { 'reed.1096_5B_first_home.zip': noise(7, 50_000) };

/** Bash: the partition of disk AT under a name whose table can be changed while it is mounted; and how. */
const deviceOf = (at: number): string => `/dev/ubd${String.fromCharCode(97 + at)}1`;
const table = (at: number, target: string): string =>
  `echo "0 $(blockdev --getsz ${deviceOf(at)}) ${target}" | dmsetup load s${at} && dmsetup resume s${at} || exit 1`;
const mountOver = (at: number, options: string): string =>
  `dmsetup create s${at} --notable && ${table(at, `linear ${deviceOf(at)} 0`)}
mkdir /run/stick${at} && mount -t vfat -o ${options} /dev/dm-${at} /run/stick${at} || exit 1`;
/** Linux Documentation/admin-guide/device-mapper/dm-flakey.rst: every write fails, reads go on. */
const breakWrites = (at: number): string =>
  `dmsetup suspend --noflush --nolockfs s${at} && ${table(at, `flakey ${deviceOf(at)} 0 0 3600 1 error_writes`)}`;
const mendWrites = (at: number): string =>
  `dmsetup suspend --noflush --nolockfs s${at} && ${table(at, `linear ${deviceOf(at)} 0`)}`;

/** Root's rights less those that open everything; what may lie in one person's folder is bound to /run. */
const ordinary =
  'cd /run/project; PATH=/run/node:$PATH exec setpriv --bounding-set=-dac_override,-dac_read_search,-fowner';

// Linux's own vfat over a drive whose writes fail for a while. What it tells of that, it tells once.
describe('what the system cannot write down', () => {
  needs({ ...kernelPrograms, ...stickPrograms, dmsetup: 'dmsetup', setpriv: 'util-linux', 'mkfs.ext4': 'e2fsprogs' })(
    'verify and prepare say so, and later say ready only of what is on the medium; where nobody can make it, an eject is due',
    { tags: ['ready-is-on-the-medium', 'nobodys-files-vanish', 'doubt-stays'], timeout: 600_000 },
    async () => {
      const archive = await makeArchive(scratch.path);
      const sticks = [
        await makeStick(join(scratch.path, 'verified.img'), own),
        await makeStick(join(scratch.path, 'prepared.img'), { ...own, ...leftovers }),
        await makeStick(join(scratch.path, 'verified-still.img'), own),
      ];
      const other = makeSparse(join(scratch.path, 'ext4.img'), 64 * 2 ** 20);
      run('mkfs.ext4', '-q', other);
      const job = `--label ${quoted(panelLabel)} --running reed.746 --family samples/families/sedge.yaml --yes`;
      const prepare = (at: number, more = '', mode = 'recovery'): string =>
        stickwrightInKernel(
          `prepare /run/archives/${packageName} --expect-sha256 ${sha256(readFileSync(archive))} --mode ${mode} ${job} ${more} --stick /run/stick${at}`,
        );
      const verify = (at: number): string => stickwrightInKernel(`verify /run/stick${at}`);
      const byOthers = (command: string): string => `(${ordinary} bash -c ${quoted(command)})`;
      const onExt4 = prepare(3, '--accept stick/file-system-not-taken --because "a test"', 'in-os');
      const letter = '/run/stick3/letter.txt';
      const due = 'grep -o -m 1 stick/eject-due /run/said';
      const printed = await runInKernel({
        disks: [...sticks, other],
        atMostMs: 480_000,
        script: [
          'load_modules "$modules"/drivers/md/dm-{mod,flakey}.ko',
          'mkdir /run/project /run/node /run/archives; mount --bind "$PWD" /run/project',
          `mount --bind "$(dirname "$(command -v node)")" /run/node; mount --bind ${quoted(dirname(archive))} /run/archives`,
          // The others are such that reading changes nothing, the access date included.
          ...[mountOver(0, 'utf8=1'), mountOver(1, 'utf8=1,noatime'), mountOver(2, 'utf8=1,noatime')],
          `mkdir /run/stick3; mount /dev/ubdd /run/stick3; rmdir /run/stick3/lost+found; echo x >${letter}`,
          ...[prepare(0), prepare(1, '--leftovers set-aside'), prepare(2)],
          onExt4,
          'echo "== ordinary"',
          // A file of somebody else's, and a system without a program that syncs a whole file system.
          `chmod 600 ${letter}; chown 1234 ${letter}`,
          'sync=$(realpath "$(command -v sync)"); mount --bind /dev/null "$sync"',
          `${byOthers(verify(3))}; ${due}`,
          `chmod 644 ${letter}; ${byOthers(verify(3))}; ${due}`,
          `chmod 600 ${letter}; ${byOthers(onExt4)}; ${due}; umount "$sync"`,
          'echo "== failing"',
          ...[moveAllAgain(0, 1, 2), breakWrites(0), breakWrites(1), breakWrites(2)],
          ...[verify(0), prepare(1), verify(2)],
          'echo "== mended"',
          ...[mendWrites(0), mendWrites(1), mendWrites(2), prepare(1), verify(0), verify(2)],
        ].join('\n'),
      });
      const [ready = '', ordinaryOnes = '', failing = '', mended = ''] = printed.split(/== .*\n/);
      expect(exitCodesIn(ready), printed).toEqual([0, 0, 0, 0]);
      expect(exitCodesIn(failing), printed).toEqual([3, 3, 3]);
      expect(failing.match(/stick\/write-failed/g), failing).toHaveLength(3);
      expect(exitCodesIn(mended), printed).toEqual([0, 0, 0]);
      expect(ordinaryOnes.trim().split('\n'), printed).toEqual([
        ...['exit: 4', 'stick/eject-due', 'exit: 0', 'exit: 4', 'stick/eject-due'],
      ]);
      // The power went at that word.
      for (const [at, image] of sticks.entries()) {
        const { files, fsck } = seeStick(image, scratch.path);
        const hashes = Object.entries({ ...firmwareTree, ...own }).map(([path, bytes]) => [path, sha256(bytes)]);
        expect(files, image).toMatchObject(Object.fromEntries(hashes));
        if (at === 1) expect(Object.values(files)).toContain(sha256(leftovers['reed.1096_5B_first_home.zip']));
        expect(fsck, image).toEqual([]);
      }
    },
  );
});
