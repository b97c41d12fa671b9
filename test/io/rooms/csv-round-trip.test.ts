import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeText, encodeText } from '../../../src/core/rounds/list/decode-text.ts';
import { parseCsv } from '../../../src/io/rooms/read-csv.ts';
import { writeCsv } from '../../../src/io/rounds/write-export.ts';

const delimiter = fc.constantFrom(';', ',', '\t', '|');
/** What WHATWG windows-1252 can hold and what hurts in CSV. */
const western = fc.string({
  unit: fc.constantFrom(...'aZ09 ;,|\t"\'=-+@', '\n', '\r\n', '\r', 'ä', 'ß', '€', '’', '\u0081', '\u00A0'),
  maxLength: 12,
});
const anyText = fc.oneof(western, fc.string({ unit: 'grapheme', maxLength: 8 }));
const tableOf = (cell: fc.Arbitrary<string>) =>
  fc
    .integer({ min: 2, max: 6 })
    .chain((width) => fc.array(fc.array(cell, { minLength: width, maxLength: width }), { minLength: 1, maxLength: 8 }));

function readBack(rows: readonly (readonly string[])[], form: Parameters<typeof writeCsv>[1]) {
  const { bytes, form: written } = writeCsv(rows, form);
  const decoded = decodeText(bytes);
  const parsed = parseCsv(decoded.text, written.kind === 'csv' ? written.delimiter : ',');
  return { decoded, written, parsed };
}

describe('a table written as CSV and read again', () => {
  it('is the same in every delimiter, with or without a byte order mark', () => {
    fc.assert(
      fc.property(tableOf(anyText), delimiter, fc.boolean(), (rows, delimiter, byteOrderMark) => {
        const form = { kind: 'csv', delimiter, encoding: 'utf-8', byteOrderMark } as const;
        const { parsed } = readBack(rows, form);
        expect(parsed.rows.map(({ cells }) => cells)).toEqual(rows);
      }),
      { numRuns: 400 },
    );
  });

  it('begins each row on the line where a person finds it', () => {
    fc.assert(
      fc.property(tableOf(western), delimiter, (rows, delimiter) => {
        const { parsed } = readBack(rows, { kind: 'csv', delimiter, encoding: 'utf-8', byteOrderMark: false });
        let line = 1;
        for (const [index, cells] of rows.entries()) {
          expect(parsed.rows[index]?.row).toBe(line);
          line += 1 + cells.join('x').split(/\r\n|\r|\n/).length - 1;
        }
      }),
      { numRuns: 300 },
    );
  });

  it('is the same in UTF-16 with a mark, and in Windows-1252 where that has the characters', () => {
    fc.assert(
      fc.property(
        tableOf(western),
        delimiter,
        fc.constantFrom('utf-16le', 'utf-16be', 'windows-1252'),
        (rows, delimiter, encoding) => {
          const form = { kind: 'csv', delimiter, encoding, byteOrderMark: encoding !== 'windows-1252' } as const;
          const { parsed, written, decoded } = readBack(rows, form);
          expect(written).toEqual(form);
          // Text that is ASCII, or by chance valid UTF-8, reads as UTF-8 by the rule; its cells are only sure where it
          // is not.
          if (encoding !== 'windows-1252' || decoded.encoding === encoding) {
            expect(parsed.rows.map(({ cells }) => cells)).toEqual(rows);
          }
        },
      ),
      { numRuns: 400 },
    );
  });

  it('goes to UTF-8 with a mark where Windows-1252 lacks a character', () => {
    const { written, parsed } = readBack([['Łazienki', 'x']], {
      kind: 'csv',
      delimiter: ';',
      encoding: 'windows-1252',
      byteOrderMark: false,
    });
    expect(written).toMatchObject({ encoding: 'utf-8', byteOrderMark: true });
    expect(parsed.rows[0]?.cells).toEqual(['Łazienki', 'x']);
  });
});

describe('encodings', () => {
  it('follow the index of windows-1252 in the Encoding Standard', () => {
    // https://encoding.spec.whatwg.org/index-windows-1252.txt, pointers 0 to 31 (bytes 0x80 to 0x9F); the rest is
    // Latin-1.
    const index = [
      ...[0x20ac, 0x81, 0x201a, 0x0192, 0x201e, 0x2026, 0x2020, 0x2021, 0x02c6, 0x2030, 0x0160, 0x2039, 0x0152, 0x8d],
      ...[0x017d, 0x8f, 0x90, 0x2018, 0x2019, 0x201c, 0x201d, 0x2022, 0x2013, 0x2014, 0x02dc, 0x2122, 0x0161, 0x203a],
      ...[0x0153, 0x9d, 0x017e, 0x0178],
    ];
    const bytes = Uint8Array.from({ length: 128 }, (_, pointer) => 128 + pointer);
    const { text, encoding, assumed } = decodeText(bytes);
    expect([encoding, assumed]).toEqual(['windows-1252', true]);
    expect([...text].map((character) => character.codePointAt(0))).toEqual([
      ...index,
      ...Array.from({ length: 96 }, (_, more) => 0xa0 + more),
    ]);
    expect(encodeText(text, 'windows-1252', false)).toEqual(bytes);
  });

  it('are told by the mark, by the zeros of UTF-16, or by valid UTF-8', () => {
    const text = 'Raum;Etikett\r\nAula Süd;home-second 75/5B\r\n';
    for (const encoding of ['utf-8', 'utf-16le', 'utf-16be'] as const) {
      for (const mark of [true, false]) {
        const bytes = encodeText(text, encoding, mark) ?? new Uint8Array();
        expect(decodeText(bytes)).toEqual({ text, encoding, byteOrderMark: mark, assumed: false, mixed: false });
      }
    }
  });
});
