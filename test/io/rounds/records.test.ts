import { cp, mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { RoundRecord } from '../../../src/core/model/round-record.ts';
import { uniteRecords } from '../../../src/core/rounds/records/order-records.ts';
import { roundRecordWithDigest, serialiseRoundRecord } from '../../../src/core/rounds/records/own-digests.ts';
import { recordFileName, startRecordFile } from '../../../src/io/rounds/append-records.ts';
import { listRecords, mergeRecords } from '../../../src/io/rounds/merge-records.ts';
import { openRecords } from '../../../src/io/rounds/open-round.ts';
import { readLines } from '../../../src/io/rounds/read-lines.ts';
import { idOf, momentOf, recordArbitrary, sha256 } from '../../fixtures/records/record-arbitrary.ts';

let folder = '';
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stickwright-records-'));
});
afterEach(async () => {
  await rm(folder, { recursive: true, force: true });
});

const approval = (number: number): RoundRecord =>
  roundRecordWithDigest(
    {
      schema: 'stickwright/round-record/1',
      id: idOf(number),
      at: momentOf(number),
      notedAt: momentOf(number),
      who: 'Ada',
      kind: 'approval',
      room: 'Room 2.14',
      label: null,
      serial: null,
      asset: null,
      by: 'Grünwald, 学校',
    },
    sha256,
  );
const lineOf = (number: number): string => `${serialiseRoundRecord(approval(number))}\n`;
const idsAt = async (place: string): Promise<readonly string[]> =>
  (await listRecords(place)).records.map(({ id }) => id);

const onlyFile = async (): Promise<string> => {
  const [name = ''] = await readdir(join(folder, 'records'));
  return join(folder, 'records', name);
};

describe('adding records', () => {
  it('puts them behind what this run wrote, and leaves the files of other runs alone', async () => {
    const append = startRecordFile(folder, 'Ada');
    await append([approval(1), approval(2)]);
    const first = await onlyFile();
    await Promise.all([append([approval(3)]), append([]), append([approval(4), approval(5)])]);
    expect(await readFile(first, 'utf8')).toBe([1, 2, 3, 4, 5].map(lineOf).join(''));
    await startRecordFile(folder, 'Ada')([approval(6)]);
    expect(await readFile(first, 'utf8')).toBe([1, 2, 3, 4, 5].map(lineOf).join(''));
    expect(await readdir(join(folder, 'records'))).toHaveLength(2);
    expect(await idsAt(folder)).toEqual([1, 2, 3, 4, 5, 6].map(idOf));
  });

  it('says round/not-found where the folder of the round is not there', async () => {
    const append = startRecordFile(join(folder, 'not', 'there'), 'Ada');
    await expect(append([approval(1)])).rejects.toMatchObject({ code: 'round/not-found' });
  });

  it('says why where it cannot write, and goes on when it can', async () => {
    await writeFile(join(folder, 'records'), 'a file where the folder should be');
    const append = startRecordFile(folder, 'Ada');
    await expect(append([approval(1)])).rejects.toMatchObject({ code: 'round/write-failed' });
    await rm(join(folder, 'records'));
    await append([approval(1)]);
    expect(await idsAt(folder)).toEqual([idOf(1)]);
  });

  it('names its file so that every system takes it, and never twice', () => {
    const people = ['Ada', 'Ada', '../../etc', 'CON', '学校', 'a'.repeat(300), '\u0000\n', 'Grün & Co.', '.'];
    const names = people.map((who) => recordFileName(who, new Date('2026-11-03T06:40:12.345Z')));
    for (const name of names)
      expect(name).toMatch(/^[a-z0-9][a-z0-9.]{0,19}-[a-z0-9.]{1,20}-20261103T064012Z-[0-9a-f]{12}$/);
    expect(new Set(names).size).toBe(names.length);
  });
});

describe('listing records', () => {
  it('answers with nothing where nothing was done yet', async () => {
    expect(await listRecords(folder)).toEqual({ records: [], damaged: [] });
  });

  it('finds a whole line that a torn one ran into, and reads what editors make of line breaks', async () => {
    await mkdir(join(folder, 'records'));
    const head = lineOf(1).slice(0, 90);
    const content = `\uFEFF${lineOf(2).replace('\n', '\r\n')}\n${head}${lineOf(3)}\0\0\0${lineOf(4)}${lineOf(5).trim()}`;
    await writeFile(join(folder, 'records', 'x.jsonl'), content);
    const { records, damaged } = await listRecords(folder);
    expect(records.map(({ id }) => id)).toEqual([2, 3, 4, 5].map(idOf));
    expect(damaged.map(({ file, line }) => `${file}:${line}`)).toEqual(['x.jsonl:3', 'x.jsonl:4']);
  });

  it('says which line was changed by hand, and does not count it', async () => {
    await startRecordFile(folder, 'Ada')([approval(1), approval(2)]);
    const path = await onlyFile();
    await writeFile(path, (await readFile(path, 'utf8')).replace('Grünwald', 'Somebody'));
    const { records, damaged } = await listRecords(folder);
    expect(records.map(({ id }) => id)).toEqual([idOf(2)]);
    expect(damaged).toMatchObject([{ line: 1, problem: expect.stringContaining('changed') }]);
  });

  it('splits any sequence of whole lines, torn lines and rubbish without losing a whole line', () => {
    const piece = fc.oneof(
      recordArbitrary.map((record) => ({ record, bytes: Buffer.from(`${serialiseRoundRecord(record)}\n`) })),
      fc.tuple(recordArbitrary, fc.nat({ max: 200 })).map(([record, at]) => ({
        record: undefined,
        bytes: Buffer.from(serialiseRoundRecord(record)).subarray(0, at),
      })),
      fc.uint8Array({ maxLength: 20 }).map((bytes) => ({ record: undefined, bytes: Buffer.from(bytes) })),
    );
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 12 }), (pieces) => {
        const { whole } = readLines(Buffer.concat(pieces.map(({ bytes }) => bytes)), 'x');
        const written = pieces.flatMap(({ record }) => (record === undefined ? [] : [record]));
        const digests = whole.map(({ record }) => record.selfSha256);
        for (const { selfSha256 } of written) expect(digests).toContain(selfSha256);
      }),
      { numRuns: 300 },
    );
  });
});

describe('merging records', () => {
  const placeWith = async (name: string, content: string): Promise<string> => {
    await mkdir(join(folder, name, 'records'), { recursive: true });
    await writeFile(join(folder, name, 'records', 'their.jsonl'), content);
    return join(folder, name);
  };

  it('adds what is new, once, from a folder, its records, or a file', async () => {
    const there = await placeWith('there', lineOf(1) + lineOf(2) + lineOf(2));
    await mkdir(join(folder, 'here'));
    const here = openRecords(join(folder, 'here'), 'Ada');
    await here.append([approval(2)]);
    expect(await here.merge(there)).toMatchObject({ added: 1, known: 1, damaged: [] });
    expect(await here.merge(join(there, 'records'))).toMatchObject({ added: 0, known: 2 });
    expect(await here.merge(join(there, 'records', 'their.jsonl'))).toMatchObject({ added: 0, known: 2 });
    expect(await here.merge(join(folder, 'here'))).toMatchObject({ added: 0, known: 2 });
    expect((await here.records()).records.map(({ id }) => id)).toEqual([idOf(1), idOf(2)]);
    expect(await readdir(join(folder, 'here', 'records'))).toHaveLength(2);
  });

  it('keeps torn lines and those of later versions byte for byte, and reports each once however often it merges', async () => {
    const newer = lineOf(7).replace('round-record/1', 'round-record/9');
    const torn = Buffer.concat([
      Buffer.from(lineOf(1) + newer),
      Buffer.from(lineOf(2)).subarray(0, 100),
      Buffer.of(0xc3),
    ]);
    const there = await placeWith('there', '');
    await writeFile(join(there, 'records', 'their.jsonl'), torn);
    const here = await placeWith('here', '');
    for (let times = 0; times < 3; times++) {
      expect((await mergeRecords(here, there)).damaged).toHaveLength(2);
    }
    expect((await listRecords(here)).damaged).toHaveLength(2);
    expect(await idsAt(here)).toEqual([idOf(1)]);
    const merged = (await readdir(join(here, 'records'))).filter((name) => name.startsWith('merged-'));
    expect(merged).toHaveLength(1);
    const content = await readFile(join(here, 'records', merged[0] ?? ''));
    expect(content.includes(Buffer.from(newer))).toBe(true);
    expect(content.includes(torn.subarray(-101))).toBe(true);
  });

  it('does not call damaged what was torn in one copy and is whole in another', async () => {
    const early = await placeWith('early', lineOf(1) + lineOf(2).slice(0, 150));
    const late = await placeWith('late', lineOf(1) + lineOf(2));
    const here = await placeWith('here', '');
    await mergeRecords(here, early);
    expect((await listRecords(here)).damaged).toHaveLength(1);
    await mergeRecords(here, late);
    expect(await listRecords(here)).toMatchObject({ records: [{ id: idOf(1) }, { id: idOf(2) }], damaged: [] });
  });

  it('shows nothing of a merge that was cut before its end', async () => {
    const here = await placeWith('here', lineOf(1));
    await writeFile(join(here, 'records', 'merged-aa.jsonl.bb.new'), lineOf(2));
    expect(await idsAt(here)).toEqual([idOf(1)]);
  });

  it('refuses what holds no records, and touches nothing', async () => {
    const here = await placeWith('here', lineOf(1));
    await mkdir(join(folder, 'photos'));
    for (const from of [join(folder, 'gone'), join(folder, 'photos')]) {
      await expect(mergeRecords(here, from)).rejects.toMatchObject({ code: 'round/not-found' });
    }
    expect(await readdir(join(here, 'records'))).toEqual(['their.jsonl']);
  });

  it('is the union on disk too: any merges of any copies, in any order, end in the same records', async () => {
    const copies = fc.array(fc.array(recordArbitrary, { maxLength: 6 }), { minLength: 2, maxLength: 4 });
    await fc.assert(
      fc.asyncProperty(copies, fc.infiniteStream(fc.nat()), async (contents, picks) => {
        const run = await mkdtemp(join(folder, 'run-'));
        const places = await Promise.all(
          contents.map(async (records, at) => {
            await mkdir(join(run, String(at), 'records'), { recursive: true });
            const lines = records.map((record) => `${serialiseRoundRecord(record)}\n`).join('');
            await writeFile(join(run, String(at), 'records', 'w.jsonl'), lines);
            return join(run, String(at));
          }),
        );
        const pick = (): string => places[(picks.next().value ?? 0) % places.length] ?? '';
        for (let times = 0; times < 4; times++) await mergeRecords(pick(), pick());
        const ends = join(run, 'ends');
        await mkdir(ends);
        for (const place of [...places, ...places.toReversed()]) await mergeRecords(ends, place);
        expect((await listRecords(ends)).records).toEqual(uniteRecords(contents.flat()).records);
      }),
      { numRuns: 25 },
    );
  });

  it('is what a copy by hand does as well, in either direction', async () => {
    const [first, second] = [join(folder, 'first'), join(folder, 'second')];
    await mkdir(first);
    await startRecordFile(first, 'Ada')([approval(1)]);
    await cp(first, second, { recursive: true });
    await startRecordFile(first, 'Ada')([approval(2)]);
    await startRecordFile(second, 'Ada')([approval(3)]);
    await cp(second, first, { recursive: true, force: true });
    expect(await idsAt(first)).toEqual([1, 2, 3].map(idOf));
    await cp(first, second, { recursive: true, force: true });
    expect(await listRecords(second)).toEqual(await listRecords(first));
  });
});
