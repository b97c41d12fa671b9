import { expect, it } from 'vitest';
import { type Bench, itWhere, pathsOf, patterned, readFile, type Traits, toolError, writeFile } from './stand.ts';

/** Not allowed by Microsoft, "Naming Files, Paths, and Namespaces", or longer than the 255 units of vfat.rst. */
const notForFat = [
  ...['a:b', 'a\\b', 'a*b', 'a?b', 'a"b', 'a<b', 'a>b', 'a|b', 'a\u0001b', 'dot.', 'space ', 'con', 'NUL.txt'],
  ...['com1', 'LPT9.bin', 'half \ud83d', 'x'.repeat(256)],
];

const ascii = ['with space.txt', '.leading dot', 'a.b.c.d', "it's+[odd]=;,{}~#&.bin", `${'x'.repeat(251)}.bin`];
const unicode = ['Prüfung é.txt', '固件更新.zip', 'Пакет.zip', 'пакет-2.zip', '\u{1f5a5} screen.bin', 'ﬁ ligature'];

export function describeNames(bench: Bench, traits: Traits): void {
  it('keeps names as they are spelled', async () => {
    const { volume } = bench;
    const names = [...ascii, ...unicode];
    for (const name of names) {
      await writeFile(volume, name, patterned(name.length));
      expect(Buffer.compare(await readFile(volume, name, 'fresh'), patterned(name.length)), name).toBe(0);
    }
    const again = await bench.reopen('read');
    expect((await pathsOf(again)).toSorted()).toEqual(names.toSorted());
  });

  itWhere(traits.refusesFatNames)('refuses names that FAT cannot hold, and never changes one', async () => {
    const { volume } = bench;
    await writeFile(volume, 'plain.bin', patterned(4));
    for (const name of notForFat) {
      await expect(volume.create(name, 1), name).rejects.toMatchObject(toolError('stick/refused'));
      await expect(volume.makeFolder(name), name).rejects.toMatchObject(toolError('stick/refused'));
      await expect(volume.rename('plain.bin', name), name).rejects.toMatchObject(toolError('stick/refused'));
    }
    expect(await pathsOf(volume)).toEqual(['plain.bin']);
  });

  it('never leaves the root', async () => {
    const { volume } = bench;
    await volume.makeFolder('folder');
    for (const path of ['', '.', '..', '../out', 'folder/../../out', '/out', 'folder//out', 'folder/./out', 'out/']) {
      await expect(volume.create(path, 1), path).rejects.toMatchObject(toolError('stick/refused'));
      await expect(volume.open(path, 'cached'), path).rejects.toMatchObject(toolError('stick/refused'));
      await expect(volume.rename('folder', path), path).rejects.toMatchObject(toolError('stick/refused'));
      await expect(volume.removeFolder(path), path).rejects.toMatchObject(toolError('stick/refused'));
    }
    expect(await pathsOf(volume)).toEqual(['folder']);
  });

  it('wants the parent to be there', async () => {
    const { volume } = bench;
    await writeFile(volume, 'file.bin', patterned(1));
    const failed = toolError('stick/not-as-listed');
    await expect(volume.create('missing/a.bin', 1)).rejects.toMatchObject(failed);
    await expect(volume.makeFolder('missing/a')).rejects.toMatchObject(failed);
    await expect(volume.create('file.bin/a.bin', 1)).rejects.toMatchObject(failed);
    expect(await pathsOf(volume)).toEqual(['file.bin']);
  });
}
