import { expect, it } from 'vitest';
import { type Bench, itWhere, pathsOf, patterned, readFile, type Traits, toolError, writeFile } from './stand.ts';

export function describeTree(bench: Bench, traits: Traits): void {
  it('lists folders before what is in them, hidden names too, and nothing twice', async () => {
    const { volume } = bench;
    await writeFile(volume, 'zz.bin', patterned(5));
    await volume.makeFolder('mm');
    await volume.makeFolder('mm/inner');
    await writeFile(volume, 'mm/inner/deep.bin', patterned(7));
    await writeFile(volume, 'mm/Second.bin', patterned(0));
    await writeFile(volume, '.hidden', patterned(3));
    await writeFile(volume, 'aa.bin', patterned(1));
    const expected = ['zz.bin', 'mm', 'mm/inner', 'mm/inner/deep.bin', 'mm/Second.bin', '.hidden', 'aa.bin'];
    const paths = await pathsOf(volume);
    if (traits.keepsOrder) expect(paths).toEqual(expected);
    else expect(paths.toSorted()).toEqual(expected.toSorted());
    for (const path of paths) {
      const folder = path.slice(0, Math.max(0, path.lastIndexOf('/')));
      if (folder !== '') expect(paths.indexOf(folder)).toBeLessThan(paths.indexOf(path));
    }
  });

  it('never puts one thing over another', async () => {
    const { volume } = bench;
    await writeFile(volume, 'file.bin', patterned(9));
    await volume.makeFolder('folder');
    const taken = toolError('stick/name-taken');
    for (const name of ['file.bin', 'folder']) {
      await expect(volume.create(name, 4)).rejects.toMatchObject(taken);
      await expect(volume.makeFolder(name)).rejects.toMatchObject(taken);
    }
    await writeFile(volume, 'other.bin', patterned(8, 2));
    await volume.makeFolder('empty');
    await expect(volume.rename('other.bin', 'file.bin')).rejects.toMatchObject(taken);
    await expect(volume.rename('other.bin', 'folder')).rejects.toMatchObject(taken);
    await expect(volume.rename('folder', 'empty')).rejects.toMatchObject(taken);
    await expect(volume.rename('folder', 'file.bin')).rejects.toMatchObject(taken);
    if (traits.ignoresCase) await expect(volume.create('FILE.BIN', 4)).rejects.toMatchObject(taken);
    expect(Buffer.compare(await readFile(volume, 'file.bin'), patterned(9))).toBe(0);
    expect(Buffer.compare(await readFile(volume, 'other.bin'), patterned(8, 2))).toBe(0);
  });

  it('moves files', async () => {
    const { volume } = bench;
    await volume.makeFolder('from');
    await volume.makeFolder('to');
    await writeFile(volume, 'from/a.bin', patterned(70_001));
    await volume.rename('from/a.bin', 'to/b.bin');
    await volume.rename('to/b.bin', 'c.bin');
    await volume.flush();
    expect(Buffer.compare(await readFile(volume, 'c.bin', 'fresh'), patterned(70_001))).toBe(0);
    expect((await pathsOf(volume)).toSorted()).toEqual(['c.bin', 'from', 'to']);
    await expect(volume.rename('gone.bin', 'd.bin')).rejects.toMatchObject(toolError('stick/not-as-listed'));
    await expect(volume.rename('c.bin', 'no/such.bin')).rejects.toMatchObject(toolError('stick/not-as-listed'));
  });

  it('moves whole folders, and not into themselves', async () => {
    const { volume } = bench;
    for (const folder of ['stage', 'stage/images', 'stage/images/deep', 'kept']) await volume.makeFolder(folder);
    await writeFile(volume, 'stage/boot.pkg', patterned(50_000));
    await writeFile(volume, 'stage/images/deep/one.img', patterned(60_000, 2));
    await expect(volume.rename('stage', 'stage/images/stage')).rejects.toMatchObject(toolError('stick/refused'));
    await volume.rename('stage/images', 'kept/pictures');
    await volume.rename('stage', 'final');
    await volume.flush();
    const again = await bench.reopen('read');
    expect(Buffer.compare(await readFile(again, 'kept/pictures/deep/one.img', 'fresh'), patterned(60_000, 2))).toBe(0);
    expect((await pathsOf(again)).toSorted()).toEqual([
      'final',
      'final/boot.pkg',
      'kept',
      'kept/pictures',
      'kept/pictures/deep',
      'kept/pictures/deep/one.img',
    ]);
  });

  it('changes the case of a name', async () => {
    const { volume } = bench;
    await writeFile(volume, 'update.zip', patterned(20));
    await volume.rename('update.zip', 'UPDATE.zip');
    expect(await pathsOf(volume)).toEqual(['UPDATE.zip']);
  });

  it('removes what it is told to, and nothing else', async () => {
    const { volume } = bench;
    await volume.makeFolder('folder');
    await writeFile(volume, 'folder/a.bin', patterned(10));
    const failed = toolError('stick/not-as-listed');
    await expect(volume.removeFolder('folder')).rejects.toMatchObject(failed);
    await expect(volume.removeFile('folder')).rejects.toMatchObject(failed);
    await expect(volume.removeFolder('folder/a.bin')).rejects.toMatchObject(failed);
    await expect(volume.removeFile('missing')).rejects.toMatchObject(failed);
    expect(await pathsOf(volume)).toEqual(['folder', 'folder/a.bin']);
    await volume.removeFile('folder/a.bin');
    await volume.removeFolder('folder');
    expect(await pathsOf(volume)).toEqual([]);
  });

  // Where others write too, the room left is a matter of luck.
  itWhere(traits.fills)('gives back the room of what is removed', async () => {
    const { volume } = bench;
    await volume.makeFolder('folder');
    await writeFile(volume, 'folder/a.bin', patterned(100_000));
    await volume.flush();
    const free = await volume.freeBytes();
    await volume.removeFile('folder/a.bin');
    await volume.removeFolder('folder');
    await volume.flush();
    expect(await volume.freeBytes()).toBeGreaterThanOrEqual(free + 100_000);
  });
}
