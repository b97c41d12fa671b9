import { execFile, spawnSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parseCsv } from '../../src/io/rooms/read-csv.ts';
import { writeCsv } from '../../src/io/rounds/write-export.ts';
import { readRoomList, summary } from '../fixtures/rooms/read-list.ts';
import { itWithout, needs } from './needs.ts';

const run = promisify(execFile);
let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stickwright-outside-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

/** A Python that has openpyxl: the first one on the path need not be the system's. */
const python = ['python3', '/usr/bin/python3'].find(
  (program) => spawnSync(program, ['-c', 'import openpyxl'], { stdio: 'ignore' }).status === 0,
);
const withOpenpyxl = python === undefined ? itWithout('openpyxl (apt-get install python3-openpyxl)') : it;

async function runPython(program: string, script: string, input: unknown): Promise<unknown> {
  const [code, data] = [join(folder, 'script.py'), join(folder, 'data.json')];
  await writeFile(code, script);
  await writeFile(data, JSON.stringify(input));
  const { stdout } = await run(program, [code, data], { maxBuffer: 64_000_000 });
  return stdout.trim() === '' ? undefined : JSON.parse(stdout);
}

const cell = fc.string({
  unit: fc.constantFrom(...'ab09 ;,|\t"\'=', '\n', '\r\n', 'ä', '€', '中'),
  maxLength: 10,
});
const table = fc
  .integer({ min: 2, max: 5 })
  .chain((width) => fc.array(fc.array(cell, { minLength: width, maxLength: width }), { minLength: 1, maxLength: 6 }));
const samples = (count: number): string[][][] => fc.sample(table, { numRuns: count, seed: 7 });

describe('RFC 4180', () => {
  // Section 2, rules 1 to 7, with the examples that stand there.
  const examples: readonly (readonly [string, readonly (readonly string[])[]])[] = [
    [
      'aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      'aaa,bbb,ccc\r\nzzz,yyy,xxx',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      'field_name,field_name,field_name\r\naaa,bbb,ccc\r\n',
      [
        ['field_name', 'field_name', 'field_name'],
        ['aaa', 'bbb', 'ccc'],
      ],
    ],
    [
      '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
      [
        ['aaa', 'bbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    [
      '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
      [
        ['aaa', 'b\r\nbb', 'ccc'],
        ['zzz', 'yyy', 'xxx'],
      ],
    ],
    ['"aaa","b""bb","ccc"', [['aaa', 'b"bb', 'ccc']]],
  ];
  it.each(examples)('%j', (text, rows) => {
    expect(parseCsv(text, ',').rows.map(({ cells }) => cells)).toEqual(rows);
  });
});

describe('the csv module of Python', () => {
  const script = `
import csv, io, json, sys
job = json.load(open(sys.argv[1]))
out = []
for one in job:
    if 'rows' in one:
        text = io.StringIO(newline='')
        csv.writer(text, delimiter=one['delimiter'], quoting=getattr(csv, one['quoting']), lineterminator=one['end']).writerows(one['rows'])
        out.append(text.getvalue())
    else:
        out.append(list(csv.reader(io.StringIO(one['text'], newline=''), delimiter=one['delimiter'])))
print(json.dumps(out))
`;
  const delimiters = [';', ',', '\t', '|'];

  needs({ python3: 'python3' })('writes what we read', async () => {
    const jobs = samples(120).map((rows, index) => ({
      rows,
      delimiter: delimiters[index % 4] ?? ';',
      // With another line end than CR LF this module leaves the other kinds unquoted, and a row ends inside the cell.
      quoting: index % 2 === 0 ? 'QUOTE_MINIMAL' : 'QUOTE_ALL',
      end: index % 2 === 0 ? '\r\n' : (['\n', '\r'][index % 3] ?? '\r\n'),
    }));
    const texts = (await runPython('python3', script, jobs)) as string[];
    for (const [index, { rows, delimiter }] of jobs.entries()) {
      expect(parseCsv(texts[index] ?? '', delimiter).rows.map(({ cells }) => cells)).toEqual(rows);
    }
  });

  needs({ python3: 'python3' })('reads what we write', async () => {
    const tables = samples(120);
    const jobs = tables.map((rows, index) => {
      const delimiter = delimiters[index % 4] ?? ';';
      const form = { kind: 'csv', delimiter, encoding: 'utf-8', byteOrderMark: false } as const;
      // Its reader is given text: a byte order mark is for whoever opens the file (Python's utf-8-sig).
      return {
        text: Buffer.from(writeCsv(rows, form).bytes)
          .toString('utf8')
          .replace(/^\uFEFF/, ''),
        delimiter,
      };
    });
    expect(await runPython('python3', script, jobs)).toEqual(tables);
  });
});

const workbookScript = `
import datetime, json, sys, openpyxl
job = json.load(open(sys.argv[1]))
book = openpyxl.Workbook()
sheet = book.active
sheet.title = 'Räume'
for row in job['rows']:
    sheet.append([datetime.date.fromisoformat(cell['date']) if isinstance(cell, dict) and 'date' in cell else (cell['value'] if isinstance(cell, dict) else cell) for cell in row])
    for column, cell in enumerate(row, 1):
        if isinstance(cell, dict) and 'format' in cell:
            sheet.cell(sheet.max_row, column).number_format = cell['format']
for ref in job.get('merged', []):
    sheet.merge_cells(ref)
if job.get('cover'):
    cover = book.create_sheet('Cover', 0)
    cover.sheet_state = 'hidden'
    book.active = 1
book.save(job['path'])
`;

describe('openpyxl', () => {
  const write = async (job: object): Promise<string> => {
    const path = join(folder, 'book.xlsx');
    await runPython(python ?? '', workbookScript, { path, ...job });
    return path;
  };

  withOpenpyxl('writes builds as numbers, dates, texts and formats that we read as a person means them', async () => {
    const path = await write({
      cover: true,
      merged: ['A1:F1', 'A6:A7'],
      rows: [
        ['Panels of the district'],
        ['Raum', 'Typenschild', 'Firmwarestand', 'Seriennummer', 'Inventar-Nr.', 'Bemerkung'],
        ['2.14', 'K2-second 75/5B', 20240117, 'S1', { value: 42, format: '"QH-"00000' }, 'ä €\nzweite Zeile'],
        [
          { value: 2.1, format: '0.00' },
          'home-first 110/5B',
          { value: 20240117, format: '#,##0' },
          '00123',
          { value: 7, format: '000' },
          '=1+1',
        ],
        [2.2, 'home-first 110/5B', { date: '2024-01-17', format: 'dd.mm.yyyy' }, 12345678901, true, null],
        ['Aula', 'VX+098+AM', 'v3.9.0_20231120', 'S5', null, null],
        [null, 'VX+098+AM', 3.1, 'S6', null, null],
        ['2.20', { date: '2026-02-04', format: 'DD.MMM' }, null, 'S7', null, null],
      ],
    });
    const { list, codes, seen } = summary(await readRoomList(path, {}));
    expect(list?.form).toEqual({ kind: 'xlsx', sheet: 'Räume' });
    expect(
      list?.rooms.map(({ key, label, running, serial, asset, notes, row }) => [
        row,
        key,
        label,
        running,
        serial,
        asset,
        notes,
      ]),
    ).toEqual([
      [3, '2.14', 'K2-second 75/5B', '20240117', 'S1', 'QH-00042', 'ä €\nzweite Zeile'],
      [4, '2.10', 'home-first 110/5B', '20240117', '00123', '007', undefined],
      [5, '2.2', 'home-first 110/5B', '20240117', '12345678901', 'TRUE', undefined],
      [6, 'Aula · S5', 'VX+098+AM', 'v3.9.0_20231120', 'S5', undefined, undefined],
      [7, 'Aula · S6', 'VX+098+AM', undefined, 'S6', undefined, undefined],
    ]);
    expect(seen('room/room-is-number')).toEqual([expect.stringContaining('Cell A5 "Raum"')]);
    expect(seen('room/cell-mangled')).toEqual([
      expect.stringContaining('Cell B8 "Typenschild": the label is "2026-02-04"'),
    ]);
    expect(codes).toEqual([
      'room/columns-read',
      'room/cell-not-used',
      'room/room-is-number',
      'room/date-as-build',
      'room/running-mangled',
      'room/cell-mangled',
      'room/merged-rows',
    ]);
  });

  withOpenpyxl('writes any text, and we read it back', async () => {
    const rows = samples(60)
      .flat()
      .map((cells) => ['x', ...cells].slice(0, 4));
    const width = 4;
    const path = await write({ rows: [['Room', 'Label', 'Notes', 'Serial'], ...rows] });
    const { list } = await readRoomList(path, {});
    const full = (cells: readonly string[]) => Array.from({ length: width }, (_, column) => cells[column] ?? '');
    // openpyxl writes texts that begin with = as formulas; their text is what we show.
    expect(list?.rows.map(({ cells }) => full(cells))).toEqual(rows.map((row) => full(row)));
  });

  withOpenpyxl('reads the workbook of the sample as we do', async () => {
    const script = `
import json, sys, openpyxl
sheet = openpyxl.load_workbook('samples/rooms/quillhaven.xlsx', data_only=True).worksheets[0]
print(json.dumps([[str(cell) if cell is not None else '' for cell in row] for row in sheet.iter_rows(values_only=True)]))
`;
    const theirs = (await runPython(python ?? '', script, null)) as string[][];
    const { list } = await readRoomList('samples/rooms/quillhaven.xlsx', {});
    for (const { row, cells } of list?.rows ?? []) {
      const other = theirs[row - 1] ?? [];
      for (const column of [1, 2, 3, 5, 6, 7]) {
        const ours = cells[column] ?? '';
        // A formula without a result is shown here and nothing there; dates are ISO 8601 here and a datetime there.
        if (ours.startsWith('=VLOOKUP')) continue;
        expect([row, column, ours]).toEqual([
          row,
          column,
          (other[column] ?? '').replace(/ 00:00:00$/, '').replaceAll('_x0007_', '\u0007'),
        ]);
      }
    }
  });
});

describe('gnumeric', () => {
  needs({ ssconvert: 'gnumeric' })('writes the same list as a workbook', async () => {
    const source = join(folder, 'plain.csv');
    const rows = [
      ['Salle', 'Étiquette', 'Version actuelle', 'N° de série'],
      ['B 12', 'K2-second 75/5B', 'reed.746', 'SD000123'],
      ['B 13', 'VX+098+AM', 'v3.9.0_20231120', 'SD000124'],
    ];
    await writeFile(
      source,
      writeCsv(rows, { kind: 'csv', delimiter: ',', encoding: 'utf-8', byteOrderMark: false }).bytes,
    );
    const path = join(folder, 'plain.xlsx');
    await run('ssconvert', ['--export-type=Gnumeric_Excel:xlsx', source, path]);
    const { list, codes } = summary(await readRoomList(path, {}));
    expect(list?.rooms.map(({ key, label, running, serial }) => [key, label, running, serial])).toEqual(rows.slice(1));
    expect(codes).toEqual(['room/columns-read']);
  });

  needs({ ssconvert: 'gnumeric' })('shows in the sample what we show', async () => {
    const path = join(folder, 'sample.csv');
    await run('ssconvert', ['--export-type=Gnumeric_stf:stf_csv', 'samples/rooms/quillhaven.xlsx', path]);
    const theirs = parseCsv(await readFile(path, 'utf8'), ',').rows.map(({ cells }) => cells);
    const { list } = await readRoomList('samples/rooms/quillhaven.xlsx', {});
    for (const { row, cells } of list?.rows ?? []) {
      for (const column of [1, 3]) {
        const ours = cells[column] ?? '';
        // A date and a number of 17 digits are shown rounded or in another form there.
        if (/^2026-02-04$|^\d{17}$/.test(ours)) continue;
        expect([row, column, ours]).toEqual([row, column, theirs[row - 1]?.[column] ?? '']);
      }
    }
  });
});
