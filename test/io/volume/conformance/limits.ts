import { expect, it } from 'vitest';
import { type Bench, itWhere, pathsOf, patterned, readFile, type Traits, toolError, writeFile } from './stand.ts';

export function describeLimits(bench: Bench, traits: Traits): void {
  itWhere(traits.fills)('tells the free space, and it shrinks by what is written', async () => {
    const { volume } = bench;
    const before = await volume.freeBytes();
    expect(before).toBeGreaterThan(0);
    expect(before).toBeLessThanOrEqual(volume.facts.volumeBytes);
    await writeFile(volume, 'a.bin', patterned(300_000));
    await volume.flush();
    const used = before - (await volume.freeBytes());
    expect(used).toBeGreaterThanOrEqual(300_000);
    const cluster = volume.facts.clusterBytes ?? 4096;
    // Drivers may take a few clusters more for folders and journals.
    expect(used).toBeLessThanOrEqual(Math.ceil(300_000 / cluster) * cluster + 65_536);
  });

  itWhere(traits.fills)('says at once that a file will not fit, and puts nothing there', async () => {
    const { volume } = bench;
    const free = await volume.freeBytes();
    await expect(volume.create('big.bin', free + 1)).rejects.toMatchObject(toolError('stick/full'));
    expect(await pathsOf(volume)).toEqual([]);
    expect(await volume.freeBytes()).toBe(free);
  });

  itWhere(traits.fills)('fills up with an error and never writes short in silence', async () => {
    const { volume } = bench;
    const writer = await volume.create('big.bin', 1);
    const chunk = patterned(2 ** 20);
    const free = await volume.freeBytes();
    const fill = async (): Promise<void> => {
      for (let written = 0; written <= free + 4 * chunk.length; written += chunk.length) await writer.write(chunk);
      await writer.close();
    };
    await expect(fill()).rejects.toMatchObject(toolError('stick/full'));
    await writer.close(); // also after a failed write, and twice
    await volume.removeFile('big.bin');
    await volume.flush();
    await writeFile(volume, 'small.bin', patterned(100_000));
    expect(Buffer.compare(await readFile(volume, 'small.bin', 'fresh'), patterned(100_000))).toBe(0);
  });

  it('holds many files in a folder', async () => {
    const { volume } = bench;
    await volume.makeFolder('many files');
    const names = Array.from({ length: 300 }, (_, index) => `many files/picture number ${index}.img`);
    for (const [index, name] of names.entries()) await writeFile(volume, name, patterned(index));
    await volume.flush();
    const again = await bench.reopen('read');
    const files = (await again.entries()).filter((entry) => entry.kind === 'file');
    expect(files.map((entry) => entry.path).toSorted()).toEqual(names.toSorted());
    for (const index of [0, 1, 150, 299]) {
      const name = `many files/picture number ${index}.img`;
      expect(Buffer.compare(await readFile(again, name, 'fresh'), patterned(index))).toBe(0);
    }
  });

  itWhere(traits.vanishes)('says so when the stick is pulled, whatever was going on', async () => {
    const { volume, stand } = bench;
    await writeFile(volume, 'a.bin', patterned(10));
    await volume.flush();
    expect(stand.vanish).toBeDefined();
    stand.vanish?.();
    const gone = toolError('stick/gone');
    await expect(volume.create('b.bin', 1)).rejects.toMatchObject(gone);
    await expect(volume.makeFolder('b')).rejects.toMatchObject(gone);
    await expect(volume.open('a.bin', 'fresh')).rejects.toMatchObject(gone);
    await expect(volume.rename('a.bin', 'c.bin')).rejects.toMatchObject(gone);
    await expect(volume.removeFile('a.bin')).rejects.toMatchObject(gone);
    await expect(volume.entries()).rejects.toMatchObject(gone);
    await expect(volume.freeBytes()).rejects.toMatchObject(gone);
    await expect(volume.flush()).rejects.toMatchObject(gone);
  });
}
