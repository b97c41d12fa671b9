import { describe, expect, it } from 'vitest';
import type { CentralRecord } from '../../../../src/core/archive-format/read-central-directory.ts';
import { compareDirectoryReaders, type LibraryReading } from '../../../../src/core/archive-format/reading-facts.ts';
import { checkReaders } from '../../../../src/core/checks/archive/check-without-directory.ts';

const reading: LibraryReading = {
  name: 'boot.img',
  flags: 8,
  method: 8,
  crc32: 1,
  compressedBytes: 2,
  bytes: 3,
  headerOffset: 4,
};
const { name, ...fields } = reading;
const record: CentralRecord = {
  ...fields,
  at: 0,
  versionMadeBy: 20,
  versionNeeded: 20,
  modTime: 0,
  modDate: 0,
  diskStart: 0,
  externalAttributes: 0,
  name: { shown: name, plain: name, alphabetUnknown: false, brokenUtf8: false },
  nameLength: name.length,
  extraLength: 0,
  zip64: { missing: undefined, contradictory: false },
};

describe('one directory record as two readers see it', () => {
  it('is no finding where they agree', () => {
    expect(compareDirectoryReaders(record, reading, 0)).toBeUndefined();
  });

  it.each(Object.keys(fields))('is one where %s differs', (field) => {
    expect(checkReaders(compareDirectoryReaders(record, { ...reading, [field]: 99 }, 4))).toMatchObject([
      {
        code: 'archive/readers-disagree',
        subject: 'boot.img',
        facts: { entry: 5, about: expect.stringContaining(field) },
      },
    ]);
  });

  it('is one where the name differs, or one of them sees no entry', () => {
    const codes = [
      compareDirectoryReaders(record, { ...reading, name: 'boot.bin' }, 0),
      compareDirectoryReaders(undefined, reading, 0),
      compareDirectoryReaders(record, undefined, 0),
    ].flatMap((differs) => checkReaders(differs).map(({ code }) => code));
    expect(codes).toEqual(Array(3).fill('archive/readers-disagree'));
  });
});
