import { spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { afterEach, beforeEach, describe, expect } from 'vitest';
import { makeArchive, noise, panelLabel, sha256 } from '../fixtures/desk.ts';
import { makeStick, seeStick, stickPrograms } from '../fixtures/kernel/kernel-sticks.ts';
import { attachLoop, canMount, mountImage, programsFor, unmount } from '../fixtures/volumes/mounts.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { itWithout, needs } from './needs.ts';

// An account that is signed in and no more: no root, no group for drives, no udisks. Drives are a loop device, and a
// stick that somebody mounted for it. On a USB bus, with Linux's vfat, it is in `sticks-on-the-bus.test.ts`.
const outside = canMount
  ? needs({ ...stickPrograms, ...programsFor.fat32, setpriv: 'util-linux', unshare: 'util-linux', losetup: 'mount' })
  : itWithout('the right to be another user (run as root)');
const nobody = 65_534;
const partitionBytes = 2 ** 20;
const aside = 'set-aside-20261128T213737Z';
const older = noise(12, 280_000);

let scratch: Scratch;
let archivePath: string;
let image: string;
beforeEach(async () => {
  scratch = makeScratch();
  chmodSync(scratch.path, 0o755);
  archivePath = await makeArchive(scratch.path);
  image = await makeStick(join(scratch.path, 'stick.img'));
});
afterEach(() => scratch.undo());

/** The built command as that person runs it; the project and Node may lie where that account may not look. */
function stickwright(...words: readonly string[]) {
  const places = ['project', 'node'].map((name) => join(scratch.path, name));
  for (const place of places) mkdirSync(place, { recursive: true });
  const bind = 'mount --bind "$PWD" "$0" && mount --bind "$1" "$2" && cd "$0" && n=$2 && shift 2';
  const person = `setpriv --reuid=${nobody} --regid=${nobody} --clear-groups --inh-caps=-all --bounding-set=-all`;
  const { status, stdout, stderr } = spawnSync(
    'unshare',
    [
      ...['--mount', 'sh', '-c', `${bind} && exec ${person} "$n/node" bin/stickwright.js "$@"`],
      ...[places[0] ?? '', dirname(process.execPath), places[1] ?? '', ...words],
    ],
    {
      encoding: 'utf8',
      env: { PATH: process.env.PATH, HOME: '/nowhere', STICKWRIGHT_FAMILIES: 'samples/families', NO_COLOR: '1' },
    },
  );
  return { status, said: (stdout + stderr).replace(/\s+/g, ' ') };
}

const prepare = (target: string, ...more: readonly string[]) =>
  stickwright('prepare', archivePath, '--mode', 'recovery', '--label', panelLabel, '--stick', target, '--yes', ...more);

/** The volume of `image` mounted for everybody, from a file that only its owner may read, as a drive is. */
function mountForAll(): { readonly point: string; back(): void } {
  const volume = join(scratch.path, 'volume');
  writeFileSync(volume, readFileSync(image).subarray(partitionBytes), { mode: 0o600 });
  const point = mountImage(scratch, volume, 'rw+,allow_other');
  const back = (): void => {
    unmount(point);
    writeFileSync(image, Buffer.concat([readFileSync(image).subarray(0, partitionBytes), readFileSync(volume)]));
  };
  return { point, back };
}

describe('a person without rights and without udisks', () => {
  outside(
    'sees the drives, and is told why a whole drive is not theirs, and what is',
    { tags: ['only-the-stick'] },
    () => {
      expect(stickwright('drives', '--all').status).toBe(0);
      const device = attachLoop(scratch, image);
      const before = readFileSync(image);
      for (const words of [['prepare'], ['format'], ['verify']] as const) {
        const { status, said } =
          words[0] === 'prepare'
            ? prepare(device)
            : stickwright(
                words[0],
                device,
                ...(words[0] === 'format' ? ['--for', 'recovery', '--drive-size', '50,331,648 bytes'] : []),
              );
        expect([status, said], words[0]).toEqual([3, expect.stringContaining('[file/not-permitted]')]);
        expect(said).toMatch(/the folder where it is mounted.*the group disk or root/);
      }
      expect(readFileSync(image).equals(before)).toBe(true);
    },
  );

  outside(
    'is stopped where a file was pulled while it was moved: the drive may not be read',
    { tags: ['nobodys-files-vanish'] },
    () => {
      for (const folder of ['images', aside, `${aside}/images`]) mtools('mmd', `${image}@@1M`, `::/${folder}`);
      for (const [name, bytes] of Object.entries({
        'images/system.img': older,
        [`${aside}/images/system.img.set-aside`]: '',
      })) {
        writeFileSync(join(scratch.path, 'part'), bytes);
        mtools('mcopy', `${image}@@1M`, join(scratch.path, 'part'), `::/${name}`);
      }
      const medium = readFileSync(image);
      const [old, moved] = ['SYSTEM  IMG', 'SYSTEM~1SET'].map((name) =>
        medium.indexOf(name, partitionBytes, 'latin1'),
      ) as [number, number];
      medium.copy(medium, moved + 13, old + 13, old + 32); // FAT specification 1.03, section 6: times, place and length
      writeFileSync(image, medium);
      const { point, back } = mountForAll();
      const { status, said } = prepare(
        point,
        '--leftovers',
        'set-aside',
        '--accept',
        'stick/partition-table-not-taken',
        '--because',
        'a test',
      );
      expect(said).toMatch(/STOP A file has its old name and its new one \[stick\/two-names\]/i);
      expect(said).toMatch(/system\.img\.set-aside and \S*system\.img\.|system\.img and \S*system\.img\.set-aside\./i);
      expect(status).toBe(1);
      back();
      expect(readFileSync(image).equals(medium)).toBe(true);
      expect(Object.values(seeStick(image, scratch.path).files)).toContain(sha256(older));
    },
  );
});
