import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { columnMemoryFile, openColumnMemory } from '../../../src/io/rooms/column-memory.ts';
import { readRoomList } from '../../fixtures/rooms/read-list.ts';

let folder: string;
let file: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stickwright-memory-'));
  file = join(folder, 'deep', 'columns.json');
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const headings = ['Wo', 'Was', ''];

describe('the memory of columns', () => {
  it('lies where the environment says, else in the config folder', () => {
    expect(columnMemoryFile({ STICKWRIGHT_COLUMNS: file })).toBe(file);
    expect(columnMemoryFile({})).toMatch(/stickwright[\\/](Config[\\/])?columns\.json$/);
  });

  it('is asked once for a list, and knows the next one with the same headings', async () => {
    const list = join(folder, 'list.csv');
    await writeFile(list, 'Wo;Was;Wieviel\n1;home-second 75/5B;reed.746\n');
    let asked = 0;
    const ask = async () => {
      asked++;
      return { room: 0, label: 1 };
    };
    const read = async () => await readRoomList(list, {}, { ask, memory: await openColumnMemory(file) });
    expect((await read()).list?.rooms.length).toBe(1);
    await writeFile(list, 'list of May\nWO ; was;Wieviel;\n2;home-first 110/5B;reed.365;\n');
    const again = await read();
    expect(asked).toBe(1);
    expect(again.list?.rooms).toMatchObject([{ key: '2', label: 'home-first 110/5B' }]);
    expect(again.findings.map(textsOf)[0]?.seen).toContain(
      'room from "WO" (remembered), label from "was" (remembered)',
    );
  });

  it('keeps what --columns says, and lets it win over what is remembered', async () => {
    const list = join(folder, 'list.csv');
    await writeFile(list, 'Wo;Was;Wie\n1;home-second 75/5B;home-first 110/5B\n');
    const read = async (named: object) =>
      (await readRoomList(list, named, { memory: await openColumnMemory(file) })).list;
    await read({ room: 'Wo', label: 'Was' });
    expect((await read({}))?.columns).toEqual({ room: 0, label: 1 });
    expect((await read({ label: 'Wie' }))?.columns).toEqual({ room: 0, label: 2 });
    expect((await read({}))?.columns).toEqual({ room: 0, label: 2 });
  });

  it('is written whole or not at all', async () => {
    const memory = await openColumnMemory(file);
    await Promise.all(
      Array.from({ length: 8 }, (_, index) => memory.keep([...headings, `Nr ${index}`], { room: 0, label: 1 })),
    );
    const content = JSON.parse(await readFile(file, 'utf8'));
    expect(content.schema).toBe('stickwright/columns/1');
    expect(content.lists.length).toBeGreaterThan(0);
    expect(await readdir(join(folder, 'deep'))).toEqual(['columns.json']);
  });

  it.each(['', '{', '[]', '{"schema":"stickwright/columns/1","lists":[{"headings":[],"columns":{}}]}', '\0\0'])(
    'counts as empty where it is damaged (%j), says so, and is put aside',
    async (content) => {
      const path = join(folder, 'columns.json');
      await writeFile(path, content);
      const memory = await openColumnMemory(path);
      expect(memory.problem).toBe('it is damaged');
      expect(memory.recall(headings)).toBeUndefined();
      expect(await memory.keep(headings, { room: 0, label: 1 })).toBeUndefined();
      expect((await openColumnMemory(path)).recall(headings)).toEqual({ room: 0, label: 1 });
      expect(await readFile(`${path}.damaged`, 'utf8')).toBe(content);
    },
  );

  it('leaves alone what a later version wrote', async () => {
    const path = join(folder, 'columns.json');
    await writeFile(path, '{"schema":"stickwright/columns/2"}');
    const memory = await openColumnMemory(path);
    expect(await memory.keep(headings, { room: 0, label: 1 })).toBe(
      'it was written by a later version, and was left alone',
    );
    expect(await readFile(path, 'utf8')).toBe('{"schema":"stickwright/columns/2"}');
  });

  it('believes no column that the headings do not have', async () => {
    const path = join(folder, 'columns.json');
    const lists = [{ headings, columns: { room: 0, label: 7 } }];
    await writeFile(path, JSON.stringify({ schema: 'stickwright/columns/1', lists }));
    expect((await openColumnMemory(path)).recall(headings)).toBeUndefined();
  });

  it('is no trouble where it cannot be written', async () => {
    const path = join(folder, 'file');
    await writeFile(path, '');
    const memory = await openColumnMemory(join(path, 'columns.json'));
    expect(memory.problem).toMatch(/^it cannot be read \(/);
    expect(await memory.keep(headings, { room: 0, label: 1 })).toMatch(memory.problem ?? '');
  });
});
