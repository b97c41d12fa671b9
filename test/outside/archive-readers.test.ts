import { execFileSync, spawnSync } from 'node:child_process';
import { createHash, randomBytes } from 'node:crypto';
import { mkdir, readFile, truncate, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { checkWithoutDirectory } from '../../src/core/checks/archive/check-without-directory.ts';
import { parseChecksumList } from '../../src/core/text/checksum-list.ts';
import { crc32Of } from '../fixtures/archives/build-archive.ts';
import { defects, soundArchives } from '../fixtures/archives/defects.ts';
import { readBytes, readWhole, withFolder } from '../fixtures/archives/read-bytes.ts';
import { PythonReader, readWith7z, readWithUnzip } from '../fuzz/other-readers.ts';
import { needs } from './needs.ts';

describe('CRC-32', () => {
  // The check value that catalogues of CRCs print for CRC-32/ISO-HDLC, the CRC of ITU-T V.42 and of ZIP: of
  // "123456789".
  it('of "123456789" is CBF43926, natively and by the library', () => {
    const bytes = Buffer.from('123456789');
    expect(crc32(bytes).toString(16)).toBe('cbf43926');
    expect(crc32(bytes.subarray(4), crc32(bytes.subarray(0, 4))).toString(16)).toBe('cbf43926');
    expect(crc32Of(bytes).toString(16)).toBe('cbf43926');
  });

  needs({ python3: 'python3' })('of random bytes is that of zlib', () => {
    const bytes = randomBytes(100_000);
    const program = 'import sys, zlib; print(zlib.crc32(sys.stdin.buffer.read()))';
    const answer = execFileSync('python3', ['-c', program], { input: bytes, encoding: 'utf8' });
    expect(crc32(bytes)).toBe(Number(answer));
  });
});

describe('digests', () => {
  // FIPS 180-2, appendix B.1, B.2, B.3.
  it.each([
    ['abc', 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'],
    [
      'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq',
      '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
    ],
    ['a'.repeat(1_000_000), 'cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0'],
  ])('of the published vectors', async (text, sha256) => {
    const { reading } = await readBytes(Buffer.from(text));
    expect(reading.digests.sha256).toBe(sha256);
  });
});

/** Files for other archivers to pack. */
async function makeTree(folder: string): Promise<ReadonlyMap<string, string>> {
  const files = new Map([
    ['boot.pkg', Buffer.from('boot '.repeat(5000))],
    ['images/system.img', Buffer.concat([randomBytes(300_000), Buffer.alloc(700_000)])],
    ['images/empty.img', Buffer.alloc(0)],
    ['images/deep/one.txt', Buffer.from('one')],
  ]);
  await mkdir(join(folder, 'images/deep'), { recursive: true });
  for (const [name, bytes] of files) await writeFile(join(folder, name), bytes);
  return new Map([...files].map(([name, bytes]) => [name, createHash('sha256').update(bytes).digest('hex')]));
}

const archivers: readonly (readonly [string, Readonly<Record<string, string>>, readonly string[]])[] = [
  ['zip', { zip: 'zip' }, ['zip', '-qr', 'out.zip', 'boot.pkg', 'images']],
  ['zip, stored', { zip: 'zip' }, ['zip', '-qr0', 'out.zip', 'boot.pkg', 'images']],
  ['zip, Zip64 forced', { zip: 'zip' }, ['zip', '-qr', '-fz', 'out.zip', 'boot.pkg', 'images']],
  ['zip into a pipe', { zip: 'zip' }, ['sh', '-c', 'zip -qr - boot.pkg images | cat >out.zip']],
  ['zip with a comment', { zip: 'zip' }, ['sh', '-c', 'echo note | zip -qrz out.zip boot.pkg images']],
  ['7z', { '7z': '7zip' }, ['7z', 'a', '-bd', '-tzip', 'out.zip', 'boot.pkg', 'images']],
  ['Python zipfile', { python3: 'python3' }, ['python3', '-m', 'zipfile', '-c', 'out.zip', 'boot.pkg', 'images']],
  [
    'Python shutil',
    { python3: 'python3' },
    [
      'python3',
      '-c',
      'import shutil; shutil.make_archive("../out-of-tree", "zip", "."); shutil.move("../out-of-tree.zip", "out.zip")',
    ],
  ],
];

describe('archives that other programs made', () => {
  for (const [what, programs, [command = '', ...args]] of archivers) {
    needs(programs)(`${what}: sound, with the same files and contents`, async () => {
      await withFolder(async (folder) => {
        const files = await makeTree(folder);
        execFileSync(command, args, { cwd: folder, stdio: 'ignore' });
        const { stops, findings, heard } = await readWhole(join(folder, 'out.zip'));
        expect(stops, JSON.stringify(findings)).toEqual([]);
        const compared = [...heard].filter(([name]) => files.has(name));
        expect(new Map(compared)).toEqual(new Map([...files].map(([name, sha256]) => [name, sha256])));
      });
    });
  }

  needs({ zip: 'zip' })('encrypted, split, with links: each stopped by its own code', async () => {
    await withFolder(async (folder) => {
      await makeTree(folder);
      const run = (line: string): unknown => execFileSync('sh', ['-c', line], { cwd: folder, stdio: 'ignore' });
      run('zip -qr -P secret locked.zip boot.pkg');
      run('ln -s boot.pkg link && zip -qry links.zip link boot.pkg');
      run('zip -qr0 -s 128k split.zip images');
      expect((await readWhole(join(folder, 'locked.zip'))).stops).toEqual(['archive/encrypted']);
      expect((await readWhole(join(folder, 'links.zip'))).stops).toEqual(['archive/link']);
      expect((await readWhole(join(folder, 'split.zip'))).stops).toContain('archive/split-set');
      expect((await readWhole(join(folder, 'split.z01'))).stops).toEqual(['archive/split-set']);
    });
  });

  needs({ zip: 'zip' })('cut at any point: never fine', async () => {
    await withFolder(async (folder) => {
      await makeTree(folder);
      const path = join(folder, 'out.zip');
      execFileSync('zip', ['-qr', 'out.zip', 'boot.pkg', 'images'], { cwd: folder });
      const whole = await readFile(path);
      for (const missing of [1, 2, 21, 22, 23, 100, 500, whole.length - 30, whole.length - 1, whole.length]) {
        await writeFile(path, whole);
        await truncate(path, whole.length - missing);
        expect((await readWhole(path)).stops.length, `${missing} bytes missing`).toBeGreaterThan(0);
      }
    });
  });
});

describe("the project's own sound archives, as other readers see them", () => {
  const readers = { unzip: 'unzip', '7z': '7zip', python3: 'python3' };
  // Bytes that these readers do not expect, though the specification or common practice has them.
  const warned = new Set(['split archive mark in one part']);
  needs(readers)('unzip, 7z and Python read the same names and contents', async () => {
    const python = new PythonReader();
    try {
      await withFolder(async (folder) => {
        for (const [what, make] of Object.entries(soundArchives)) {
          const path = join(folder, 'case.zip');
          await writeFile(path, make());
          const { heard } = await readWhole(path);
          const answer = await python.read(path);
          expect(answer, what).toMatchObject({ count: heard.size });
          if (!warned.has(what)) expect(readWithUnzip(path).exitCode, what).toBeLessThan(2);
          expect(readWith7z(path).exitCode, what).toBe(0);
          const contents = (sums: Iterable<string>): readonly string[] => [...sums].toSorted();
          if ('files' in answer) expect(contents(Object.values(answer.files)), what).toEqual(contents(heard.values()));
        }
      });
    } finally {
      python.close();
    }
  });
});

describe('files that are no zip, made by the programs they come from', () => {
  const kinds: readonly (readonly [string, Readonly<Record<string, string>>, string])[] = [
    ['a gzip file (.gz, .tgz)', { gzip: 'gzip' }, 'gzip -k <f >out'],
    ['an xz file', { xz: 'xz-utils' }, 'xz <f >out'],
    ['a bzip2 file', { bzip2: 'bzip2' }, 'bzip2 <f >out'],
    ['a tar archive', { tar: 'tar' }, 'tar cf out f'],
    ['a 7z archive', { '7z': '7zip' }, '7z a -bd -t7z out.7z f && mv out.7z out'],
    ['a disk image', { 'mkfs.fat': 'dosfstools' }, 'truncate -s 4M out && mkfs.fat out'],
    ['an ext2/3/4 disk image', { 'mkfs.ext4': 'e2fsprogs' }, 'truncate -s 4M out && mkfs.ext4 -q out'],
  ];
  for (const [kind, programs, line] of kinds) {
    needs(programs)(kind, async () => {
      await withFolder(async (folder) => {
        await writeFile(join(folder, 'f'), 'firmware\n'.repeat(1000));
        expect(spawnSync('sh', ['-c', line], { cwd: folder }).status).toBe(0);
        const { findings } = await readWhole(join(folder, 'out'));
        expect(findings).toMatchObject([{ code: 'archive/not-a-zip', facts: { kind } }]);
      });
    });
  }

  it.each([
    ['a web page', '\ufeff\n<html><body>Please sign in</body></html>'],
    ['a web page', '<?xml version="1.0"?><!DOCTYPE html PUBLIC ""><html></html>'],
    ['an error message from the download server', '<?xml version="1.0"?><Error><Code>AccessDenied</Code></Error>'],
    ['a JSON answer from a web service', '{"error":"expired"}'],
    ['a placeholder that stands for a large file kept elsewhere', 'version https://git-lfs.github.com/spec/v1\noid x'],
    ['a link to a web address', '[InternetShortcut]\nURL=https://example.org'],
    ['a checksum list', `${'0'.repeat(64)}  a.zip`],
  ])('%s', (kind, text) => {
    const bytes = Buffer.from(text);
    expect(checkWithoutDirectory(bytes, bytes, bytes.length)).toMatchObject([{ facts: { kind } }]);
  });
});

describe('checksum lists as real programs write them', () => {
  const lines: readonly (readonly [string, Readonly<Record<string, string>>])[] = [
    ['sha256sum', { sha256sum: 'coreutils' }],
    ['sha256sum -b', { sha256sum: 'coreutils' }],
    ['sha256sum --tag', { sha256sum: 'coreutils' }],
    ['sha512sum --tag', { sha256sum: 'coreutils' }],
    ['md5sum', { sha256sum: 'coreutils' }],
    ['sha1sum', { sha256sum: 'coreutils' }],
    ['openssl dgst -sha256', { openssl: 'openssl' }],
    ['openssl dgst -md5 -r', { openssl: 'openssl' }],
  ];
  for (const [line, programs] of lines) {
    for (const name of ['plain.zip', 'with space (1).zip', 'back\\slash.zip']) {
      if (name.includes('\\') && line.startsWith('openssl')) continue; // openssl does not escape
      needs(programs)(`${line}: ${name}`, async () => {
        await withFolder(async (folder) => {
          await writeFile(join(folder, name), 'content');
          const [command = '', ...args] = line.split(' ');
          const text = execFileSync(command, [...args, name], { cwd: folder, encoding: 'utf8' });
          const algorithm = /(sha256|sha512|sha1|md5)/.exec(line)?.[1] ?? '';
          const hex = createHash(algorithm).update('content').digest('hex');
          expect(parseChecksumList(text)).toMatchObject({ hashes: [{ hex, fileName: name }], unreadable: [] });
        });
      });
    }
  }
});

describe('faults that other readers let through', () => {
  needs({ unzip: 'unzip' })('unzip -t alone is no oracle: it passes several that are stopped here', async () => {
    await withFolder(async (folder) => {
      const path = join(folder, 'case.zip');
      for (const fault of ['an entry that the directory does not name', 'local date', 'bytes after the end']) {
        const made = defects.find(({ what }) => what === fault);
        await writeFile(path, made?.make() ?? '');
        expect(readWithUnzip(path).exitCode, fault).toBeLessThan(2);
        expect((await readWhole(path)).stops, fault).toContain(made?.code);
      }
    });
  });
});
