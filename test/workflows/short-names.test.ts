import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { mayBeAliasOf } from '../../src/core/volume-format/fat-name.ts';
import { openVolume } from '../../src/io/volume/open-volume.ts';
import { contentAt, makeArchive, prepare, sha256 } from '../fixtures/desk.ts';
import { kernelPrograms, runInKernel } from '../fixtures/kernel/start-kernel.ts';
import { mtools } from '../fixtures/volumes/mtools.ts';
import { makeFatImage, makeScratch, type Scratch } from '../fixtures/volumes/scratch.ts';
import { writeFile } from '../io/volume/conformance/stand.ts';
import { needs } from '../outside/needs.ts';

const firmware = (names: readonly string[]): Record<string, Buffer> =>
  Object.fromEntries(
    ['sedge_boot.pkg', 'images/a.img', ...names].map((name) => [name, Buffer.from(`content of ${name}`)]),
  );

const makeStick = (scratch: Scratch) =>
  makeFatImage(join(scratch.path, 'stick.img'), 40 * 2 ** 20, { kind: 'fat32', clusterBytes: 512, partitioned: true });

/** Archives whose short names collide, might, or only look like it; the order is that of the writing. */
const archives: readonly (readonly [readonly string[], string | undefined])[] = [
  [['longfilename.bin', 'LONGFI~1.BIN'], 'LONGFI~1.BIN'],
  [['LONGFI~1.BIN', 'longfilename.bin'], 'LONGFI~1.BIN'],
  [['images/longfilename.bin', 'images/longfi~1.bin'], 'images/longfi~1.bin'],
  [['a long folder/x.img', 'ALONGF~1/y.img'], 'ALONGF~1'],
  [['SEDGE_~1.PKG'], 'SEDGE_~1.PKG'],
  [['STICKW~1'], 'STICKW~1'],
  // Linux and Windows: two letters and a hash where many are alike; FatFs: a hash in place of the number.
  [['longfilename.bin', 'LO12AB~1.BIN'], 'LO12AB~1.BIN'],
  [['longfilename.bin', 'LO~12AB.BIN'], 'LO~12AB.BIN'],
  [['LONGFI~1.BIN', 'images/longfilename.bin', 'other long name.bin'], undefined],
  [['longfilename.bin', 'LONGFI~1.IMG', 'LONG~X.BIN'], undefined],
  [['first long name.bin', 'first long name too.bin', 'first long name as well.bin'], undefined],
];

describe('names that FAT would have to give twice', () => {
  test.each(archives)('%j', { tags: ['plan-before-touch'] }, async (names, colliding) => {
    const scratch = makeScratch();
    try {
      const archivePath = await makeArchive(scratch.path, firmware(names));
      const stick = await makeStick(scratch);
      const before = readFileSync(stick);
      const dry = await prepare({ archivePath, targets: [stick], dryRun: true });
      const found = dry.report.sticks[0]?.findings.filter(({ code }) => code === 'plan/short-names-collide') ?? [];
      expect(found.map(({ subject }) => subject)).toEqual(colliding === undefined ? [] : [colliding]);
      const { report } = await prepare({ archivePath, targets: [stick] });
      expect(report.verdict).toBe(dry.report.verdict === 'ready' ? 'unproven' : dry.report.verdict);
      if (colliding !== undefined) {
        expect(report.sticks[0]?.state).toBe('refused');
        expect(readFileSync(stick).equals(before)).toBe(true);
        return;
      }
      // What the plan says is what is there.
      const content = await contentAt(stick);
      for (const [path, bytes] of Object.entries(firmware(names))) expect(content[path], path).toBe(sha256(bytes));
    } finally {
      scratch.undo();
    }
  });

  test('a long name that stays on the stick counts, one that goes does not', {
    tags: ['plan-before-touch'],
  }, async () => {
    const scratch = makeScratch();
    try {
      const archivePath = await makeArchive(scratch.path, firmware(['HOLIDA~1.JPG']));
      const stick = await makeStick(scratch);
      const volume = await openVolume(stick, 'write');
      await writeFile(volume, 'holiday in may.jpg', Buffer.from('somebody'));
      await volume.close();
      const { report } = await prepare({ archivePath, targets: [stick] });
      expect(report.sticks[0]?.findings.map(({ code }) => code)).toContain('plan/short-names-collide');
      expect(report.sticks[0]?.state).toBe('refused');
    } finally {
      scratch.undo();
    }
  });

  const long = [
    ...['longfilename.bin', 'a b c.tar.gz', 'x+y=z.img', '.hidden file', 'über lang.bin', 'no ending here'],
    ...Array.from({ length: 12 }, (_, at) => `longfilename ${at}.bin`), // so many that a hash takes the number's place
  ];

  const makeImage = (scratch: Scratch) =>
    makeFatImage(join(scratch.path, 'plain.img'), 40 * 2 ** 20, { kind: 'fat32', clusterBytes: 512 });

  /** What a driver made of LONG in FOLDER, as mtools shows it: none that the plan would not have stopped for. */
  function expectKnown(image: string, folder: string): void {
    const rows = mtools('mdir', image, folder).split('\n');
    for (const name of long) {
      const row = rows.find((one) => one.endsWith(` ${name}`)) ?? '';
      const ending = row.slice(9, 12).trim();
      const alias = `${row.slice(0, 8).trim()}${ending === '' ? '' : `.${ending}`}`;
      expect(mayBeAliasOf(alias, name), `${folder}: ${alias} of ${name}`).toBe(true);
    }
  }

  needs({ mcopy: 'mtools', mdir: 'mtools' })(
    'FatFs and mtools make no short name that the plan does not know',
    async () => {
      const scratch = makeScratch();
      try {
        const image = await makeImage(scratch);
        const volume = await openVolume(image, 'write');
        for (const name of long) await writeFile(volume, name, Buffer.from(name));
        await volume.close();
        mtools('mmd', image, '::/OTHER');
        for (const name of long) mtools('mcopy', image, `::/${name}`, `::/OTHER/${name}`);
        expectKnown(image, '::/');
        expectKnown(image, '::/OTHER');
      } finally {
        scratch.undo();
      }
    },
  );

  needs({ ...kernelPrograms, mdir: 'mtools' })('nor does the vfat of Linux', async () => {
    const scratch = makeScratch();
    try {
      const image = await makeImage(scratch);
      const make = long.map((name) => `echo x > '/run/m/${name}'`).join('\n');
      const script = `set -e\nmkdir /run/m\nmount -t vfat -o utf8=1 /dev/ubda /run/m\n${make}\numount /run/m`;
      await runInKernel({ disks: [image], script });
      expectKnown(image, '::/');
    } finally {
      scratch.undo();
    }
  });
});
