import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { firmwareTree, makePublishedArchive, panelLabel, sha256 } from '../fixtures/desk.ts';
import { needs } from '../outside/needs.ts';

let folder: string;
let archive: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright images-'));
  archive = await makePublishedArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const moment = '2026-09-14T10:20:30Z';
let count = 0;

function makeImage(
  words: readonly string[] = [],
  environment: Readonly<Record<string, string>> = {},
  label = panelLabel,
) {
  const place = join(folder, `place ${count++}`);
  mkdirSync(place);
  const path = join(place, 'stick.img');
  const answer = stickwright(
    [
      'prepare',
      archive,
      '--mode',
      'recovery',
      '--label',
      label,
      '--running',
      'reed.746',
      '--image',
      path,
      '--yes',
      ...words,
    ],
    environment,
  );
  return { path, ...answer };
}

describe('an image of a prepared stick', () => {
  it('is the same, byte for byte, for the same input and moment, in any time zone', () => {
    const zones = ['Asia/Tokyo', 'America/St_Johns'];
    const made = zones.map((zone) => makeImage(['--at', moment], { TZ: zone }));
    for (const { stdout, stderr, exitCode } of made)
      expect([exitCode, exitCode === 0 ? '' : stdout + stderr]).toEqual([0, '']);
    const sums = made.map(({ path }) => sha256(readFileSync(path)));
    expect(new Set(sums).size).toBe(1);
    expect(made[0]?.stdout).toContain(`SHA-256    ${sums[0]}`);
    const other = makeImage(['--at', '2026-09-14T10:20:32Z']);
    expect(sha256(readFileSync(other.path))).not.toBe(sums[0]);
  });

  it('is ready when it is verified, and takes little room for what is empty', () => {
    const { path } = makeImage(['--at', moment, '--size', '700MB']);
    expect(statSync(path).size).toBe(7e8);
    expect(statSync(path).blocks * 512).toBeLessThan(40 * 2 ** 20);
    expect(stickwright(['verify', path, '--replugged']).exitCode).toBe(0);
  });

  it('never takes the place of a file, and leaves nothing behind where it was refused', () => {
    const { path } = makeImage(['--at', moment]);
    const before = sha256(readFileSync(path));
    const again = stickwright([
      'prepare',
      archive,
      '--mode',
      'recovery',
      '--label',
      panelLabel,
      '--running',
      'reed.746',
      '--image',
      path,
      '--yes',
    ]);
    expect(again.exitCode).toBe(3);
    expect(sha256(readFileSync(path))).toBe(before);
    const wrong = makeImage(['--at', moment], {}, 'K3-second 75/5B');
    expect([wrong.exitCode, existsSync(wrong.path), existsSync(`${wrong.path}.part`)]).toEqual([1, false, false]);
    const small = makeImage(['--size', '33MB']);
    expect([small.exitCode, existsSync(small.path), existsSync(`${small.path}.part`)]).toEqual([3, false, false]);
  });

  it('wants words that fit together', () => {
    for (const words of [
      ['--stick', folder],
      ['--at', 'yesterday'],
      ['--size', 'large'],
    ]) {
      expect(makeImage(words).exitCode).toBe(2);
    }
  });

  needs({ sha256sum: 'coreutils', 'fsck.fat': 'dosfstools', mdir: 'mtools', mcopy: 'mtools' })(
    'is what sha256sum, fsck.fat and mtools say it is',
    () => {
      const { path } = makeImage(['--at', moment]);
      const place = join(path, '..');
      expect(spawnSync('sha256sum', ['-c', 'stick.img.sha256'], { cwd: place, encoding: 'utf8' }).stdout).toBe(
        'stick.img: OK\n',
      );
      const volume = join(place, 'volume.img');
      writeFileSync(volume, readFileSync(path).subarray(2 ** 20));
      expect(spawnSync('fsck.fat', ['-n', volume]).status).toBe(0);
      const listed = spawnSync('mdir', ['-i', volume, '-a', '::'], { encoding: 'utf8' }).stdout;
      const times = listed.match(/\d{4}-\d{2}-\d{2} +\d{1,2}:\d{2}/g) ?? [];
      expect(times.length).toBeGreaterThan(3);
      expect(new Set(times.map((time) => time.replace(/ +/, ' ')))).toEqual(new Set(['2026-09-14 10:20']));
      const copy = join(place, 'system.img');
      expect(spawnSync('mcopy', ['-i', volume, '::images/system.img', copy]).status).toBe(0);
      expect(readFileSync(copy).equals(firmwareTree['images/system.img'] ?? Buffer.alloc(0))).toBe(true);
    },
  );
});

// The clock is put into FatFs in place of its only import that takes no argument: true of the pinned version.
it('FatFs asks one function for the time', () => {
  const source = readFileSync(createRequire(import.meta.url).resolve('js-fatfs'), 'utf8');
  const imports = /var wasmImports=\{([^}]*)\}/.exec(source)?.[1] ?? '';
  const names = imports.split(',').map((pair) => pair.split(':')[1] ?? '');
  const withoutArguments = names.filter((name) =>
    new RegExp(`[ ,;]${name}=\\(\\)=>|function ${name}\\(\\)`).test(source),
  );
  expect(withoutArguments).toEqual(['_emscripten_date_now']);
});
