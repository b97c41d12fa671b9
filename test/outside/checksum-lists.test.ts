import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { firmwareTree, makeArchive, packageName } from '../fixtures/desk.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright lists-'));
/** The script crc32 takes eight digits in a name for the value that the file should have. */
const plainName = 'panels-of-quillhaven.zip';
beforeAll(async () => {
  for (const name of [packageName, plainName]) await makeArchive(folder, firmwareTree, name);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Each list as its own program writes it, how that program checks it again, and what a match is worth here. */
const lists = [
  { by: 'sha384sum', from: 'coreutils', list: `${packageName}.sha384`, make: [packageName], check: ['-c'], exit: 0 },
  { by: 'sha224sum', from: 'coreutils', list: 'SHA224SUMS', make: ['--tag', packageName], check: ['-c'], exit: 0 },
  { by: 'cksfv', from: 'cksfv', list: 'pack.sfv', make: [packageName], check: ['-f'], exit: 4 },
  { by: 'rhash', from: 'rhash', list: 'release.sfv', make: ['--sfv', packageName], check: ['-c'], exit: 4 },
  {
    by: '/usr/bin/crc32',
    from: 'libarchive-zip-perl',
    list: `${plainName}.crc32`,
    make: [plainName],
    check: undefined,
    exit: 4,
  },
] as const;

describe('a checksum list that another program wrote', () => {
  for (const { by, from, list, make, check, exit } of lists) {
    needs({ [by]: from })(
      `${by}: is compared, and a changed archive is stopped where it says so itself`,
      { tags: ['doubt-stays'] },
      () => {
        const path = join(folder, list);
        const archive = join(folder, make.at(-1) ?? '');
        const run = (words: readonly string[]) => spawnSync(by, [...words], { cwd: folder, encoding: 'utf8' });
        const written = run(make);
        expect(written.status).toBe(0);
        writeFileSync(path, written.stdout);
        const whole = readFileSync(archive);
        try {
          const sound = stickwright(['inspect', archive]);
          expect([by, sound.exitCode, sound.exitCode === exit ? '' : sound.stdout]).toEqual([by, exit, '']);
          expect(sound.stdout).toContain('[archive/hash-matches]');
          expect(sound.stdout.includes('[archive/hash-crc-only]')).toBe(exit === 4);
          if (check !== undefined) expect(run([...check, list]).status).toBe(0);

          // A time in a header: the archive is still whole in itself.
          const changed = Buffer.from(whole);
          changed[10] = (changed[10] ?? 0) ^ 1;
          writeFileSync(archive, changed);
          const other = stickwright(['inspect', archive]);
          expect([by, other.exitCode]).toEqual([by, 1]);
          expect(other.stdout).toContain('[archive/hash-differs]');
          if (check !== undefined) expect(run([...check, list]).status).not.toBe(0);
        } finally {
          writeFileSync(archive, whole);
          rmSync(path, { force: true });
        }
      },
    );
  }
});
