import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { identifyFile } from '../../../src/core/archive-format/identify-file.ts';
import { readCentralDirectory } from '../../../src/core/archive-format/read-central-directory.ts';
import { findEndRecords, readZip64End, readZip64Locator } from '../../../src/core/archive-format/read-end-records.ts';
import { readExtraFields, resolveZip64 } from '../../../src/core/archive-format/read-extra-fields.ts';
import {
  localHeaderLength,
  readDataDescriptor,
  readLocalHeader,
} from '../../../src/core/archive-format/read-local-header.ts';
import { parseChecksumList } from '../../../src/core/text/checksum-list.ts';
import { buildArchive, extraField, pack } from '../../fixtures/archives/build-archive.ts';

const nameless = () => ({ shown: '', plain: '', alphabetUnknown: false, brokenUtf8: false });

/** Bytes that often look like records: random ones with signatures strewn in. */
const bytes = fc
  .array(
    fc.oneof(
      fc.uint8Array({ maxLength: 60 }),
      fc
        .constantFrom('PK\x01\x02', 'PK\x03\x04', 'PK\x05\x06', 'PK\x06\x06', 'PK\x06\x07', 'PK\x07\x08')
        .map((mark) => Buffer.from(mark, 'latin1')),
    ),
    { maxLength: 8 },
  )
  .map((parts) => Buffer.concat(parts));

describe('the parsers of records', () => {
  it('never throw and never read past what they were given', () => {
    fc.assert(
      fc.property(bytes, (input) => {
        const directory = readCentralDirectory(input, 1000, nameless);
        expect(directory.endsAt).toBeLessThanOrEqual(1000 + input.length);
        const { records, lastMarkAt } = findEndRecords(input, 7);
        for (const { at } of records) expect(at + 22).toBeLessThanOrEqual(7 + input.length);
        expect(lastMarkAt).toBeLessThanOrEqual(7 + input.length);
        const used = readExtraFields(input).fields.reduce((sum, { data }) => sum + 4 + data.length, 0);
        expect(used).toBeLessThanOrEqual(input.length);
        const length = localHeaderLength(input);
        if (length !== undefined && length !== -1 && length <= input.length) readLocalHeader(input.subarray(0, length));
        readZip64End(input, 0);
        readZip64Locator(input, 0);
        readDataDescriptor(input, { crc32: 0, compressedBytes: 0, bytes: 0 }, input.length);
        identifyFile(input, input.subarray(-512));
        parseChecksumList(input.toString('latin1'));
      }),
      { numRuns: 1000 },
    );
  });
});

describe('a directory', () => {
  it('is read to its end whatever the end record counts', () => {
    const names = ['a', 'b', 'c'];
    const archive = buildArchive({ entries: names.map((name) => ({ name, data: Buffer.from(name) })) });
    const { records } = findEndRecords(archive, 0);
    const [end] = records;
    const at = end?.directoryOffset ?? 0;
    const directory = readCentralDirectory(archive.subarray(at, end?.at), at, nameless);
    expect(directory.records.map(({ bytes, headerOffset }) => [bytes, headerOffset])).toEqual([
      [1, 0],
      [1, 32],
      [1, 64],
    ]);
    expect(directory).toMatchObject({ endsAt: end?.at, stoppedBy: undefined });
  });
});

describe('Zip64 values', () => {
  const mark = 0xffffffff;
  const fields = { bytes: 5, compressedBytes: 4, headerOffset: 3, diskStart: 0 };
  const extra = (data: Buffer) => readExtraFields(extraField(1, data)).fields;

  // APPNOTE 4.5.3: only the fields that are marked are in the extra, in the order size, compressed size, offset, disk.
  it('are taken in order, and only for marked fields', () => {
    expect(resolveZip64({ ...fields, headerOffset: mark }, extra(pack([77, 8])))).toMatchObject({
      bytes: 5,
      headerOffset: 77,
    });
    expect(resolveZip64({ ...fields, bytes: mark, headerOffset: mark }, extra(pack([9, 8], [77, 8])))).toMatchObject({
      bytes: 9,
      compressedBytes: 4,
      headerOffset: 77,
    });
    expect(resolveZip64(fields, extra(pack([9, 8])))).toMatchObject({ bytes: 5 });
  });

  it('are missed where the extra is short', () => {
    const { zip64 } = resolveZip64({ ...fields, bytes: mark, compressedBytes: mark }, extra(pack([9, 8])));
    expect(zip64).toEqual({ missing: 'compressedBytes', contradictory: false });
  });
});
