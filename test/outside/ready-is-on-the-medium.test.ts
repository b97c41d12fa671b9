import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { verifyStick } from '../../src/workflows/verify-stick.ts';
import { firmwareTree, makeArchive, noise, panelLabel, prepare, sha256, testPorts } from '../fixtures/desk.ts';
import {
  checkInKernel,
  exitCodesIn,
  makePulledStick,
  makeStick,
  mountSticks,
  moveAllAgain,
  seeStick,
  stickPrograms,
  stickwrightInKernel,
} from '../fixtures/kernel/kernel-sticks.ts';
import { kernelPrograms, quoted, runInKernel } from '../fixtures/kernel/start-kernel.ts';
import { makeScratch } from '../fixtures/volumes/scratch.ts';
import { describeCutsByHand } from './cuts-by-hand.ts';
import { needs } from './needs.ts';

const scratch = makeScratch();
let archive: string;
let large: string;

/** So many files that one call for the whole file system takes the place of one a file. */
const manyFiles = Object.fromEntries(Array.from({ length: 30 }, (_, at) => [`images/part ${at}.img`, noise(at, 900)]));

beforeAll(async () => {
  archive = await makeArchive(scratch.path);
  mkdirSync(join(scratch.path, 'large'));
  large = await makeArchive(join(scratch.path, 'large'), { ...firmwareTree, ...manyFiles });
});
afterAll(() => scratch.undo());

/** Somebody's other firmware, which has to be moved or removed, and somebody's own file, which has to stay. */
const leftovers = { 'reed.1096_5B_first_home.zip': noise(7, 50_000), 'update.zip': noise(8, 3000) };
const own = { 'holiday.jpg': noise(9, 20_000) };

const hashes = (tree: Readonly<Record<string, Buffer>>): Readonly<Record<string, string>> =>
  Object.fromEntries(Object.entries(tree).map(([path, bytes]) => [path, sha256(bytes)]));

type Policy = 'set-aside' | 'remove';

const prepareWords = (path: string, policy: Policy, sticks: readonly number[]): string => {
  const targets = sticks.map((at) => `--stick /run/stick${at}`).join(' ');
  const from = `${quoted(path)} --mode recovery --label ${quoted(panelLabel)} --running reed.746 --family samples/families/sedge.yaml`;
  return `prepare ${from} --leftovers ${policy} --yes ${targets}`;
};

interface Wanted {
  readonly tree: Readonly<Record<string, Buffer>>;
  readonly policy: Policy | undefined;
}

/** mtools and fsck.fat on the medium as it is, and our own verify on it. Resolves to the names in the root of each. */
async function judge(images: readonly string[], wanted: (at: number) => Wanted): Promise<readonly string[][]> {
  const roots: string[][] = [];
  for (const [at, image] of images.entries()) {
    const { tree, policy } = wanted(at);
    const { files, fsck } = seeStick(image, scratch.path);
    const aside = Object.entries(files).filter(([path]) => path.startsWith('set-aside-'));
    expect(files, image).toMatchObject({ ...hashes(tree), ...hashes(own) });
    const kept = Object.fromEntries(aside.map(([path, hash]) => [path.replace(/^[^/]*\/|\.set-aside$/g, ''), hash]));
    expect(kept, image).toEqual(policy === 'set-aside' ? hashes(leftovers) : {});
    expect(
      Object.keys(files).filter((path) => path in leftovers),
      image,
    ).toEqual([]);
    expect(fsck, image).toEqual([]);
    const request = { target: image, label: panelLabel, quick: false, replugged: true };
    const running = { tell: () => {}, signal: new AbortController().signal };
    expect((await verifyStick(request, testPorts, running)).verdict, image).toBe('unproven'); // no published hash
    roots.push([...new Set(Object.keys(files).map((path) => path.replace(/\/.*/, '')))].sort());
  }
  return roots;
}

/** Every judge: as `judge`, and a second kernel, which has to list the same, with its sha256sum. */
async function judgeByAll(images: readonly string[], wanted: (at: number) => Wanted): Promise<void> {
  const roots = await judge(images, wanted);
  const checked = await checkInKernel(images);
  expect(checked.map(({ root, ...what }) => ({ ...what, root: root.toSorted() }))).toEqual(
    images.map((_, at) => ({ code: 0, right: Object.keys(wanted(at).tree).length, root: roots[at] })),
  );
}

const onKernel = needs({ ...kernelPrograms, ...stickPrograms });
const tags = ['ready-is-on-the-medium', 'nobodys-files-vanish', 'any-machine-checks'] as const;

// Linux's own vfat, mounted sticks, and a power cut that writes nothing more (sysrq, Linux
// Documentation/admin-guide/sysrq.rst).
describe('when the power goes after the word', () => {
  onKernel(
    '0, 5 and 15 s after it all of it is there, with files set aside and removed',
    { tags: [...tags, 'read-alike-by-all'], timeout: 600_000 },
    async () => {
      /** Which sticks one command prepares; the second of three has nothing that has to go. */
      const together = [
        [0, 1],
        [2, 3, 4],
        [5, 6],
      ] as const;
      const policies = {
        aside: ['set-aside', 'remove', 'set-aside'],
        removed: ['remove', 'set-aside', 'remove'],
      } as const;
      const images: string[] = [];
      const wanted: Policy[] = [];
      for (const [name, [first, second, third]] of Object.entries(policies)) {
        const sticks: string[] = [];
        for (let at = 0; at < 7; at++)
          sticks.push(
            await makeStick(join(scratch.path, `${name} ${at}.img`), { ...own, ...(at === 3 ? {} : leftovers) }),
          );
        const script = [
          mountSticks(sticks.length),
          stickwrightInKernel(prepareWords(archive, first, together[0])),
          'sleep 10',
          stickwrightInKernel(prepareWords(archive, second, together[1])),
          'sleep 5',
          stickwrightInKernel(prepareWords(archive, third, together[2])),
        ];
        const printed = await runInKernel({ disks: sticks, script: script.join('\n') });
        expect(exitCodesIn(printed), printed).toEqual([4, 4, 4]); // no hash was published
        images.push(...sticks);
        wanted.push(first, first, second, second, second, third, third);
      }
      // And one that no kernel wrote: its image, prepared by our own writer of FAT.
      const image = await makeStick(join(scratch.path, 'image.img'), own);
      expect((await prepare({ archivePath: archive, targets: [image] })).report.sticks[0]?.state).toBe('written');
      await judgeByAll([...images, image], (at) => ({
        tree: firmwareTree,
        policy: at === images.length || at % 7 === 3 ? undefined : wanted[at],
      }));
    },
  );
});

describe('a stick that was pulled on Linux while it was being prepared', () => {
  onKernel(
    'is said to be damaged, not worn, and after a check the same command finishes it',
    { tags: ['work-goes-on', 'nobodys-files-vanish'], timeout: 600_000 },
    async () => {
      const images = [
        await makePulledStick(join(scratch.path, 'pulled 0.img'), 'cluster', own),
        await makePulledStick(join(scratch.path, 'pulled 1.img'), 'place in the FAT', own),
      ];
      const words = (at: number): string => prepareWords(archive, 'remove', [at]);
      const again = (at: number): string =>
        [`verify /run/stick${at}`, words(at), words(at)].map(stickwrightInKernel).join('\n');
      // As a person does it: unmounted, checked (fsck.fat 4.2 takes two runs for a lost cluster), mounted again.
      const repaired = [0, 1].map((at) => {
        const device = `/dev/ubd${'ab'[at]}1`;
        const check = `for run in 1 2 3 4; do fsck.fat -a -w ${device} >/dev/null && break; done`;
        return `umount /run/stick${at} && rmdir /run/stick${at}\n${check}`;
      });
      const script = [
        ...[mountSticks(2), again(0), again(1), ...repaired, 'echo checked'],
        ...[mountSticks(2), ...[0, 1].map((at) => stickwrightInKernel(words(at)))],
      ].join('\n');
      const [before = '', after = ''] = (await runInKernel({ disks: images, script })).split('checked\n');
      expect(exitCodesIn(before)).toEqual([3, 3, 3, 3, 3, 3]);
      expect(before).not.toMatch(/retire/i);
      for (const word of [/stick\/damaged/g, /fsck,\s+chkdsk,\s+First\s+Aid/g, /stickwright\s+format/g])
        expect(before.match(word), before).toHaveLength(6);
      expect(exitCodesIn(after), after).toEqual([4, 4]);
      await judge(images, () => ({ tree: firmwareTree, policy: undefined }));
    },
  );
});

describe('what the system only has in its memory', () => {
  onKernel(
    'is on the medium before verify or prepare say ready, also where no whole file system can be synced at once',
    { tags: [...tags], timeout: 300_000 },
    async () => {
      const images: string[] = [];
      for (let at = 0; at < 6; at++)
        images.push(await makeStick(join(scratch.path, `moved ${at}.img`), { ...own, ...(at === 3 ? leftovers : {}) }));
      const script = [
        mountSticks(images.length),
        stickwrightInKernel(prepareWords(archive, 'remove', [0, 1, 2, 5])),
        moveAllAgain(0, 1, 2),
        stickwrightInKernel('verify /run/stick0'),
        stickwrightInKernel(prepareWords(archive, 'remove', [1])),
        // A program that cannot be started is as good as none.
        'mount --bind /dev/null "$(realpath "$(command -v sync)")" && ! sync 2>/dev/null',
        stickwrightInKernel('verify /run/stick2'),
        stickwrightInKernel(prepareWords(large, 'set-aside', [3, 4])),
        moveAllAgain(5),
      ];
      expect(exitCodesIn(await runInKernel({ disks: images, script: script.join('\n') }))).toEqual([4, 4, 4, 4, 4]);
      // At the last one nobody looked again: without that all of it would be lost.
      const [unseen = ''] = images.splice(5);
      expect(seeStick(unseen, scratch.path).files).toMatchObject({ 'sedge_boot.pkg': sha256(Buffer.alloc(0)) });
      await judgeByAll(images, (at) => ({
        tree: at < 3 ? firmwareTree : { ...firmwareTree, ...manyFiles },
        policy: at === 3 ? 'set-aside' : undefined,
      }));
    },
  );
});

if (process.env.STICKWRIGHT_CUTS === 'all')
  describeCutsByHand({ folder: scratch.path, archive: () => archive, onKernel });
