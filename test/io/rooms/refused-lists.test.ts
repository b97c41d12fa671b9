import { Buffer } from 'node:buffer';
import { buffer } from 'node:stream/consumers';
import { gzipSync } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ZipFile } from 'yazl';
import type { ListKind } from '../../../src/core/findings/catalogue/room.ts';
import { workbookOf } from '../../fixtures/rooms/make-workbook.ts';
import { readList } from '../../fixtures/rooms/read-list.ts';

async function zipOf(parts: Readonly<Record<string, string>>): Promise<Buffer> {
  const zip = new ZipFile();
  for (const [name, text] of Object.entries(parts)) zip.addBuffer(Buffer.from(text), name, { compress: false });
  zip.end();
  return await buffer(zip.outputStream);
}

const compoundFile = Buffer.concat([Buffer.from('d0cf11e0a1b11ae1', 'hex'), Buffer.alloc(504)]);

const files: readonly (readonly [ListKind, string | Uint8Array | Promise<Uint8Array>])[] = [
  ['xls', compoundFile],
  ['encrypted', Buffer.concat([compoundFile, Buffer.from('EncryptedPackage', 'utf16le')])],
  ['xlsb', zipOf({ '[Content_Types].xml': '', 'xl/workbook.bin': '' })],
  ['ods', zipOf({ mimetype: 'application/vnd.oasis.opendocument.spreadsheet', 'content.xml': '' })],
  ['document', zipOf({ mimetype: 'application/vnd.oasis.opendocument.text', 'content.xml': '' })],
  ['document', zipOf({ '[Content_Types].xml': '', 'word/document.xml': '' })],
  ['numbers', zipOf({ 'Index/Document.iwa': '' })],
  ['archive', zipOf({ 'rooms.csv': 'Room;Label\n' })],
  ['archive', gzipSync('Room;Label\n')],
  ['pdf', '%PDF-1.4\n%'],
  ['html', '\uFEFF\n<!DOCTYPE html><table><tr><td>Room'],
  ['html', '<html xmlns:x="urn:x"><table>'],
  ['xml', '<?xml version="1.0"?>\n<Workbook>'],
  ['rtf', '{\\rtf1\\ansi Room'],
  ['picture', Buffer.from('89504e470d0a1a0a0000000d', 'hex')],
  ['binary', Buffer.from(Array.from({ length: 600 }, (_, index) => (index * 37) % 256))],
  ['empty', ''],
];

describe('a file that is no list', () => {
  it.each(files)('%s is refused with what to do', async (kind, content) => {
    const { list, findings, todo } = await readList(await content);
    expect(list).toBeUndefined();
    expect(findings).toMatchObject([{ code: 'room/not-a-list', facts: { kind } }]);
    expect(todo('room/not-a-list')[0]).toMatch(/\.$/);
  });
});

const panel = [{ text: '1' }, { text: 'home-first 110/5B' }, { number: 20240117 }];
const sheetOf = (inside: string) =>
  `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">${inside}</worksheet>`;

describe('a hostile workbook', () => {
  const say = async (parts: Readonly<Record<string, string | undefined>>) => {
    const { list, findings, seen } = await readList(await workbookOf({ rows: [panel], parts }));
    expect([list, findings.length]).toEqual([undefined, 1]);
    return seen(findings[0]?.code ?? '')[0];
  };

  it('may have no document type, so that no entity is expanded', async () => {
    expect(await say({ 'xl/sheet.xml': `<!DOCTYPE x [<!ENTITY a "b">]>${sheetOf('&a;')}` })).toContain(
      'a document type',
    );
  });

  it('may not unpack without end', async () => {
    expect(await say({ 'xl/sheet.xml': sheetOf(' '.repeat(50_000_000)) })).toContain('more than 48 MB');
  });

  it('may not lack, or lie about, its parts', async () => {
    expect(await say({ 'xl/workbook.xml': undefined })).toContain('xl/workbook.xml is missing');
    expect(await say({ 'xl/sheet.xml': undefined })).toContain('xl/sheet.xml is missing');
    expect(await say({ 'xl/sheet.xml': sheetOf('<row><c t="s"><v>7</v></c></row>') })).toContain('text 7');
    expect(await say({ 'xl/sheet.xml': sheetOf('<row><c r="1A"><v>7</v></c></row>') })).toContain('place 1A');
    expect(
      await say({ 'xl/sheet.xml': sheetOf('<row r="5"><c><v>7</v></c></row><row r="5"><c><v>7</v></c></row>') }),
    ).toContain('row 5');
    expect(await say({ 'xl/sheet.xml': '<worksheet><row>' })).toContain('not sound XML');
    expect(await say({ 'xl/sheet.xml': sheetOf('<row><c r="ZZZ1"><v>7</v></c></row>') })).toContain(
      'beyond column 500',
    );
  });

  it('never throws, whatever bytes of it are changed', async () => {
    const bytes = await workbookOf({ rows: [panel, panel], formats: ['0.00', '"QH-"000'] });
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(bytes.length - 1), fc.nat(255)), { minLength: 1, maxLength: 4 }),
        fc.option(fc.nat(bytes.length)),
        async (changes, cut) => {
          const mutant = Buffer.from(bytes);
          for (const [at, value] of changes) mutant[at] = value;
          const { list, findings } = await readList(mutant.subarray(0, cut ?? mutant.length));
          if (list === undefined) expect(findings.length).toBeGreaterThan(0);
        },
      ),
      { numRuns: 150 },
    );
  });
});

describe('any text', () => {
  it('is read or refused, and never throws', async () => {
    const piece = fc.constantFrom(
      'Room',
      'Label',
      ';',
      ',',
      '"',
      '""',
      '\n',
      '\r',
      '\t',
      '\0',
      'home-second 75/5B',
      '=',
      '2',
      '\uFEFF',
      '\u2028',
      'ä',
    );
    await fc.assert(
      fc.asyncProperty(fc.array(piece, { maxLength: 60 }), async (pieces) => {
        const { list, findings } = await readList(`Room;Label\n${pieces.join('')}`);
        if (list === undefined) expect(findings.length).toBeGreaterThan(0);
        for (const { key, room, label } of list?.rooms ?? [])
          for (const text of [key, room, label]) expect(text).not.toBe('');
        expect(new Set(list?.rooms.map(({ key }) => key)).size).toBe(list?.rooms.length ?? 0);
      }),
      { numRuns: 200 },
    );
  });
});
