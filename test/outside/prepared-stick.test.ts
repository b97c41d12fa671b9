import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { firmwareTree, makeArchive, packageName, prepare } from '../fixtures/desk.ts';
import { makeFatImage, makeSparse, run } from '../fixtures/volumes/scratch.ts';
import { needs } from './needs.ts';

let folder: string;
let archive: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright outside-'));
  archive = await makeArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const partitionOffset = 2 ** 20;

/** The volume behind the partition table as mtools and fsck.fat take it. */
async function preparedImage(mode: 'recovery' | 'in-os'): Promise<string> {
  const image = await makeFatImage(join(folder, `${mode}.img`), 64 * 2 ** 20, {
    kind: 'fat32',
    clusterBytes: 512,
    partitioned: true,
  });
  const { report } = await prepare({ archivePath: archive, targets: [image], mode });
  expect(report.sticks[0]?.state).toBe('written');
  return image;
}

/** All files below a folder of the desk, by path with `/`. */
function filesBelow(top: string): Readonly<Record<string, Buffer>> {
  const found = readdirSync(top, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
  return Object.fromEntries(
    found.map((entry) => {
      const path = join(entry.parentPath, entry.name);
      return [relative(top, path).replaceAll('\\', '/'), readFileSync(path)];
    }),
  );
}

const withoutRecord = (files: Readonly<Record<string, Buffer>>): Readonly<Record<string, Buffer>> =>
  Object.fromEntries(Object.entries(files).filter(([path]) => !path.startsWith('stickwright/')));

// GNU mtools 4 and dosfstools 4.2 read what was written: programs that nobody here wrote.
describe('a prepared image', { tags: ['any-machine-checks'] }, () => {
  needs({ mcopy: 'mtools' })('holds for mtools exactly the tree of the archive (recovery)', async () => {
    const image = await preparedImage('recovery');
    const out = join(folder, 'mcopied');
    mkdirSync(out);
    run('mcopy', '-s', '-i', `${image}@@${partitionOffset}`, '::/*', out);
    expect(withoutRecord(filesBelow(out))).toEqual(firmwareTree);
  });

  needs({ mcopy: 'mtools' })('holds for mtools the archive whole at the root (in-os)', async () => {
    const image = await preparedImage('in-os');
    const out = join(folder, 'mcopied in-os');
    mkdirSync(out);
    run('mcopy', '-s', '-i', `${image}@@${partitionOffset}`, '::/*', out);
    expect(withoutRecord(filesBelow(out))).toEqual({ [packageName]: readFileSync(archive) });
  });

  needs({ mdir: 'mtools' })('lists the firmware before the tool’s folder', async () => {
    const image = await preparedImage('recovery');
    const listed = run('mdir', '-b', '-i', `${image}@@${partitionOffset}`, '::/').trim().split('\n');
    expect(listed.at(-1)).toBe('::/stickwright/');
    expect([...listed].sort()).toEqual(['::/images/', '::/release-note.txt', '::/sedge_boot.pkg', '::/stickwright/']);
  });

  for (const mode of ['recovery', 'in-os'] as const) {
    needs({ 'fsck.fat': 'dosfstools' })(`gives fsck.fat nothing to complain about (${mode})`, async () => {
      const image = await preparedImage(mode);
      const volume = join(folder, 'volume.img');
      execFileSync('dd', [`if=${image}`, `of=${volume}`, 'bs=1M', 'skip=1', 'status=none']);
      const checked = spawnSync('fsck.fat', ['-n', '-v', volume], { encoding: 'utf8' });
      expect(checked.stdout + checked.stderr).not.toMatch(
        /differences|dirty|orphan|reclaim|free cluster summary wrong/i,
      );
      expect(checked.status).toBe(0);
    });
  }

  // GNU coreutils: `sha256sum -c` from the root of the stick.
  needs({ sha256sum: 'coreutils', mcopy: 'mtools' })(
    'carries a list that sha256sum -c accepts, and that catches a change',
    async () => {
      const image = await preparedImage('recovery');
      const out = join(folder, 'checked');
      mkdirSync(out);
      run('mcopy', '-s', '-i', `${image}@@${partitionOffset}`, '::/*', out);
      const good = spawnSync('sha256sum', ['--strict', '-c', 'stickwright/checksums.sha256'], {
        cwd: out,
        encoding: 'utf8',
      });
      expect(good.stdout.trim().split('\n')).toHaveLength(Object.keys(firmwareTree).length);
      expect(good.status).toBe(0);
      execFileSync('dd', [`of=${join(out, 'images/touch.img')}`, 'bs=1', 'seek=7', 'conv=notrunc', 'status=none'], {
        input: '?',
      });
      const bad = spawnSync('sha256sum', ['-c', 'stickwright/checksums.sha256'], { cwd: out, encoding: 'utf8' });
      expect(bad.stdout).toContain('images/touch.img: FAILED');
    },
  );

  // As somebody on macOS does who has only the stick: shasum there is Perl's, as it is here.
  needs({ shasum: 'perl', sha256sum: 'coreutils', mcopy: 'mtools' })(
    'carries a note whose own lines check it, and catch a change',
    async () => {
      const image = await preparedImage('recovery');
      const out = join(folder, 'by the note');
      mkdirSync(out);
      run('mcopy', '-s', '-i', `${image}@@${partitionOffset}`, '::/*', out);
      const note = readFileSync(join(out, 'stickwright/what-is-this-stick.txt'), 'utf8');
      expect(note).toMatch(/Get-FileHash -LiteralPath \$name/); // Windows' own; it does not run here
      const lines = note.split('\r\n').flatMap((line) => /^ {2}((?:sha256sum|shasum) .*)/.exec(line)?.[1] ?? []);
      expect(lines.map((line) => line.split(' ')[0])).toEqual(['sha256sum', 'shasum']);
      for (const isWhole of [true, false]) {
        if (!isWhole)
          execFileSync('dd', [`of=${join(out, 'images/touch.img')}`, 'bs=1', 'seek=7', 'conv=notrunc'], {
            input: '?',
            stdio: ['pipe', 'ignore', 'ignore'],
          });
        for (const line of lines) {
          const [program = '', ...words] = line.split(' ');
          const said = spawnSync(program, words, { cwd: out, encoding: 'utf8' });
          expect([said.status, said.stdout], line).toEqual([
            isWhole ? 0 : 1,
            expect.stringContaining(`images/touch.img: ${isWhole ? 'OK' : 'FAILED'}`),
          ]);
        }
      }
    },
  );

  // dosfstools makes the volume, we fill it: the cluster counts of both agree when fsck.fat has nothing to say.
  for (const [bytes, args] of [
    [2 ** 20 * 8, ['-F', '12', '-s', '8']],
    [2 ** 20 * 32, ['-F', '16', '-s', '4']],
    [2 ** 20 * 300, ['-F', '32', '-s', '8']],
  ] as const) {
    needs({ 'mkfs.fat': 'dosfstools', 'fsck.fat': 'dosfstools' })(
      `on a volume made by mkfs.fat ${args.join(' ')}`,
      async () => {
        const image = makeSparse(join(folder, `made${args[1]}.img`), bytes);
        run('mkfs.fat', ...args, image);
        const accepted = new Map(
          ['stick/file-system-not-taken', 'stick/partition-table-not-taken'].map((code) => [code, 'a test']),
        );
        const { report } = await prepare({ archivePath: archive, targets: [image], accepted });
        const [stick] = report.sticks;
        expect(stick?.state).toBe('written');
        const checked = run('fsck.fat', '-n', image);
        const [, used = '', total = ''] = /(\d+)\/(\d+) clusters/.exec(checked) ?? [];
        const clusterBytes = stick?.facts?.clusterBytes ?? 0;
        const free = (Number(total) - Number(used)) * clusterBytes;
        // The plan counts room for the record generously, so it never promises more than is left.
        expect(stick?.plan?.freeBytesAfter).toBeLessThanOrEqual(free);
        expect(stick?.plan?.freeBytesAfter).toBeGreaterThan(free - 64_000 - 8 * clusterBytes);
      },
    );
  }
});
