import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { textsOf } from '../../../src/core/findings/finding.ts';
import { readRoomList } from '../../../src/io/rooms/read-room-list.ts';
import type { ListHelps, NamedColumns } from '../../../src/io/rooms/room-lists.ts';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stickwright-rooms-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

let count = 0;
async function read(content: string | Uint8Array, named: NamedColumns = {}, helps: ListHelps = {}) {
  const path = join(folder, `list-${count++}.csv`);
  await writeFile(path, content);
  const { list, findings } = await readRoomList(path, named, helps);
  const codes = findings.map(({ code }) => code);
  const said = (code: string) => findings.filter((one) => one.code === code).map((one) => textsOf(one).seen);
  return { path, list, findings, codes, said };
}

const head = 'room;label;running;serial;asset;notes\n';

describe('a room list in CSV', () => {
  it('is read with its line numbers, whatever the delimiter', async () => {
    for (const delimiter of [';', ',', '\t', '|']) {
      const text = `${head}2.14;TS75C4-2 K2;20240117;A1;Q-1;"two\nlines"\n\n2.15;TS110C4;20230101;A2;Q-2;\n`;
      const { list, codes } = await read(text.replaceAll(';', delimiter));
      expect(list?.form).toEqual({ kind: 'csv', delimiter, encoding: 'utf-8', byteOrderMark: false });
      expect(list?.rooms).toEqual([
        {
          key: '2.14',
          row: 2,
          room: '2.14',
          label: 'TS75C4-2 K2',
          running: '20240117',
          serial: 'A1',
          asset: 'Q-1',
          notes: 'two\nlines',
          mode: undefined,
          approval: undefined,
        },
        expect.objectContaining({ key: '2.15', row: 5, notes: undefined }),
      ]);
      expect(codes).toEqual(['room/columns-read', 'room/empty-rows']);
    }
  });
});
