import { readdirSync } from 'node:fs';
import { expect, it } from 'vitest';
import { type Bench, patterned, readFile, toolError, writeFile } from './stand.ts';

const edges = [0, 1, 511, 512, 513, 4095, 4096, 4097, 65_536, 2 ** 20 - 1, 2 ** 20, 2 ** 20 + 1, 3 * 2 ** 20 + 17];

export function describeFiles(bench: Bench): void {
  it('gives back what was written, at every edge of sectors, clusters and blocks', async () => {
    const { volume } = bench;
    for (const bytes of edges) {
      const content = patterned(bytes, bytes + 1);
      await writeFile(volume, `f${bytes}.bin`, content, bytes > 65_536 ? 65_539 : 997);
      for (const how of ['fresh', 'cached'] as const) {
        expect(Buffer.compare(await readFile(volume, `f${bytes}.bin`, how), content), `${bytes} ${how}`).toBe(0);
      }
      await volume.removeFile(`f${bytes}.bin`);
    }
    await writeFile(volume, 'stays.bin', patterned(70_000));
    const again = await bench.reopen('read');
    expect(Buffer.compare(await readFile(again, 'stays.bin', 'fresh'), patterned(70_000))).toBe(0);
    expect((await again.entries()).map(({ stamp: _, ...entry }) => entry)).toEqual([
      { path: 'stays.bin', kind: 'file', bytes: 70_000 },
    ]);
  });

  it('ends a file where writing ended, whatever was announced', async () => {
    const { volume } = bench;
    const short = await volume.create('short.bin', 300_000);
    await short.write(patterned(100_001));
    await short.close();
    const long = await volume.create('long.bin', 10);
    await long.write(patterned(100_001));
    await long.close();
    for (const name of ['short.bin', 'long.bin']) {
      expect(Buffer.compare(await readFile(volume, name, 'fresh'), patterned(100_001)), name).toBe(0);
    }
    const again = await bench.reopen('read');
    expect((await again.entries()).map((entry) => entry.bytes)).toEqual([100_001, 100_001]);
  });

  it('writes several files side by side, and reads while it writes', async () => {
    const { volume } = bench;
    await writeFile(volume, 'before.bin', patterned(600_000, 3));
    const [a, b] = [await volume.create('a.bin', 500_000), await volume.create('b.bin', 500_000)];
    const [forA, forB] = [patterned(500_000, 4), patterned(500_000, 5)];
    let at = 0;
    for await (const chunk of (await volume.open('before.bin', 'cached')).chunks()) {
      expect(Buffer.compare(chunk, patterned(600_000, 3).subarray(at, at + chunk.length))).toBe(0);
      at += chunk.length;
      for (let from = 0; from < 500_000; from += 50_000) {
        await a.write(forA.subarray(from, from + 50_000));
        await b.write(forB.subarray(from, from + 50_000));
      }
    }
    expect(at).toBe(600_000);
    await Promise.all([a.close(), b.close()]);
    expect(Buffer.compare(await readFile(volume, 'a.bin', 'fresh'), forA)).toBe(0);
    expect(Buffer.compare(await readFile(volume, 'b.bin', 'fresh'), forB)).toBe(0);
  });

  it('sees a file afresh after it was replaced', async () => {
    const { volume } = bench;
    for (const seed of [1, 2, 3]) {
      await writeFile(volume, 'same.bin', patterned(150_000, seed));
      expect(Buffer.compare(await readFile(volume, 'same.bin', 'fresh'), patterned(150_000, seed))).toBe(0);
      await volume.removeFile('same.bin');
    }
  });

  it('says what is not a file', async () => {
    const { volume } = bench;
    await volume.makeFolder('folder');
    const notThere = toolError('stick/not-as-listed');
    await expect(volume.open('missing.bin', 'fresh')).rejects.toMatchObject(notThere);
    await expect(volume.open('folder', 'fresh')).rejects.toMatchObject(notThere);
    await expect(volume.open('no/such.bin', 'cached')).rejects.toMatchObject(notThere);
  });

  it('opens for reading without writing, and then refuses to write', async () => {
    await writeFile(bench.volume, 'a.bin', patterned(10));
    const volume = await bench.reopen('read');
    const refused = toolError('stick/read-only');
    await expect(volume.create('b.bin', 1)).rejects.toMatchObject(refused);
    await expect(volume.makeFolder('b')).rejects.toMatchObject(refused);
    await expect(volume.rename('a.bin', 'b.bin')).rejects.toMatchObject(refused);
    await expect(volume.removeFile('a.bin')).rejects.toMatchObject(refused);
    await expect(volume.removeFolder('a.bin')).rejects.toMatchObject(refused);
    expect(volume.facts.readOnly).toBe(false);
    expect((await volume.entries()).map(({ stamp: _, ...entry }) => entry)).toEqual([
      { path: 'a.bin', kind: 'file', bytes: 10 },
    ]);
  });

  it('lets go of everything, also of a reader that was left early and of a file never finished', async () => {
    const openFiles = (): number => readdirSync('/proc/self/fd').length;
    if (process.platform !== 'linux') return;
    await writeFile(bench.volume, 'a.bin', patterned(3 * 2 ** 20));
    const volume = await bench.reopen();
    await readFile(volume, 'a.bin', 'fresh');
    const before = openFiles();
    for (let turn = 0; turn < 20; turn++) {
      for await (const _ of (await volume.open('a.bin', turn % 2 === 0 ? 'fresh' : 'cached')).chunks()) break;
      await volume.open('a.bin', 'fresh'); // and its chunks never asked for
    }
    expect(openFiles()).toBeLessThanOrEqual(before + 2); // the first cached reader may keep its way to the medium
  });
}
