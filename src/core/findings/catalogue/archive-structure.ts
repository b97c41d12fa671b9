import type { DifferingPart } from '../../archive-format/differing-part.ts';
import { define } from '../define.ts';
import { askTheMaker, bytesOf, downloadAgain, named, placed, twoTrees, visible } from './archive-words.ts';

const headersAndDirectory =
  'Programs that trust the directory at the end see one thing, programs that walk the headers from the start another. The panel may use either.';

/** The records that hold the archive together. */
export const archiveStructureFindings = {
  'archive/comment-cut-off': define<{ missingBytes: number; fileBytes: number }>({
    severity: 'stop',
    title: 'The last bytes of the archive are missing',
    seen: ({ missingBytes, fileBytes }) =>
      `The archive’s comment, which may hold its signature, lacks its last ${bytesOf(missingBytes)}; the file has ${bytesOf(fileBytes)}.`,
    why: 'The file was cut off near its end. The panel would refuse it, or find no signature.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.3.16, 4.4.12',
  }),
  'archive/bytes-after-last': define<{ bytes: number; offset: number }>({
    severity: 'stop',
    title: 'There is something after the end of the archive',
    seen: ({ bytes, offset }) => `${bytesOf(bytes)} follow the archive’s last record, from byte ${offset} on.`,
    why: 'Panels that verify the signature look at the very end of the file and do not find it there. Programs that search for the end still open the archive, so it looks fine at the desk.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.3.6; AOSP recovery, whole-file signature at the end',
  }),
  'archive/bytes-before-first': define<{ bytes: number }>({
    severity: 'stop',
    title: 'There is something before the start of the archive',
    seen: ({ bytes }) => `${bytesOf(bytes)} come before the archive’s first record.`,
    why: 'Programs that start at the first byte do not see an archive; those that start at the end do. It may be a self-extracting program or a damaged download.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.6',
  }),
  'archive/two-end-records': define<{ offset: number; otherOffset: number }>({
    severity: 'stop',
    title: 'Two archives in one file',
    seen: ({ offset, otherOffset }) =>
      `There are two end records, at byte ${offset} and at byte ${otherOffset}, and both end with the file: one archive lies in the other’s comment.`,
    why: `Programs that take the first end record and programs that take the last see different files. ${twoTrees}`,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.1: exactly one end record',
  }),
  'archive/end-record-in-comment': define<{ offset: number; endRecordOffset: number }>({
    severity: 'stop',
    title: 'A second end mark in the archive’s comment',
    seen: ({ offset, endRecordOffset }) =>
      `The comment of the end record at byte ${endRecordOffset} holds another end mark, at byte ${offset}.`,
    why: 'Programs that search from the end meet the wrong mark first. Signature checks in panels refuse such an archive.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.1; AOSP recovery, verifier: no end mark inside the comment',
  }),
  'archive/zip64-record-missing': define<{ offset: number; locatorOffset: number }>({
    severity: 'stop',
    title: 'A record for large archives is missing',
    seen: ({ offset, locatorOffset }) =>
      `The locator at byte ${locatorOffset} points to a Zip64 end record at byte ${offset}, where there is none.`,
    why: 'Programs that follow it fail; others may open the archive. The panel may use either kind.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.3.14, 4.3.15',
  }),
  'archive/zip64-record-misplaced': define<{ offset: number; locatorOffset: number }>({
    severity: 'stop',
    title: 'A record for large archives is not in its place',
    seen: ({ offset, locatorOffset }) =>
      `The Zip64 end record at byte ${offset} is not where its locator (byte ${locatorOffset}) says, or does not end there.`,
    why: 'Bytes were put in or taken out. Programs that follow the locator and programs that search see different things.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.6, 4.3.14, 4.3.15',
  }),
  'archive/zip64-disagrees': define<{ offset: number; differing: readonly string[] }>({
    severity: 'stop',
    title: 'The two end records disagree',
    seen: ({ offset, differing }) =>
      `The end record at byte ${offset} and the Zip64 end record differ in ${differing.join(', ')}.`,
    why: `Programs that know Zip64 and programs that do not see different directories. ${twoTrees}`,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.1.4',
  }),
  'archive/zip64-extra-missing': define<{ offset: number; field: string }>({
    severity: 'stop',
    title: 'A large file’s size is missing',
    seen: ({ offset, field }, subject) =>
      `${placed(subject, offset)} says that its ${field} is in a Zip64 field, which is absent or too short.`,
    why: 'Programs guess the value, and not all the same.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.1.4, 4.5.3',
  }),
  'archive/zip64-extra-contradicts': define<{ offset: number; where: string }>({
    severity: 'stop',
    title: 'A large file’s size is stated twice and differently',
    seen: ({ offset, where }, subject) =>
      `${placed(subject, offset)} has two Zip64 fields in its ${where} that differ.`,
    why: 'Programs that take the first field and programs that take the last read different sizes.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.5.3',
  }),
  'archive/extra-field-damaged': define<{ offset: number; where: string }>({
    severity: 'stop',
    title: 'An extra field is damaged',
    seen: ({ offset, where }, subject) =>
      `${placed(subject, offset)}: an extra field in the ${where} claims more bytes than there are.`,
    why: 'Strict programs refuse the whole archive, others lose what the field said.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.5.1',
  }),
  'archive/directory-too-large': define<{ directoryBytes: number }>({
    severity: 'stop',
    title: 'The directory of the archive is beyond all measure',
    seen: ({ directoryBytes }) =>
      `The directory would take ${bytesOf(directoryBytes)}; 16 MiB hold 65,535 files with long names.`,
    why: 'Firmware has thousands of files at most. A panel with little memory would fail, and so may the record be a lie.',
    todo: askTheMaker,
    source: 'common practice',
  }),
  'archive/directory-damaged': define<{ entry: number; offset: number }>({
    severity: 'stop',
    title: 'The directory of the archive is damaged',
    seen: ({ entry, offset }) => `Record ${entry} of the directory, at byte ${offset}, cannot be read.`,
    why: 'The files from there on cannot be found. The panel would refuse the archive or install a part.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.3.12',
  }),
  'archive/count-lies': define<{ stated: number; present: number; offset: number }>({
    severity: 'stop',
    title: 'The archive does not hold as many files as it says',
    seen: ({ stated, present, offset }) =>
      `The end record (byte ${offset}) counts ${stated} entries, the directory has ${present}.`,
    why: `Programs that trust the count and programs that read to the end see different files. ${twoTrees}`,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.21, 4.4.22',
  }),
  'archive/directory-misplaced': define<{
    statedOffset: number;
    statedBytes: number;
    offset: number;
    bytes: number;
    leftBytes: number;
  }>({
    severity: 'stop',
    title: 'The directory is not where the archive says',
    seen: ({ statedOffset, statedBytes, offset, bytes, leftBytes }) =>
      `Stated: ${bytesOf(statedBytes)} from byte ${statedOffset}. Found: ${bytesOf(bytes)} from byte ${offset}${leftBytes === 0 ? '' : `, and ${bytesOf(leftBytes)} between it and the end record that belong to neither`}.${statedOffset > offset ? ` By that, ${bytesOf(statedOffset - offset)} before it are missing.` : ''}`,
    why: 'Bytes were lost or put in on the way. Programs that trust the stated place and programs that count back from the end look in different places.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.4.23, 4.4.24',
  }),
  'archive/readers-disagree': define<{ entry: number; about: string }>({
    severity: 'stop',
    title: 'Two readers see two different archives',
    seen: ({ entry, about }, subject) =>
      `${named(subject)} (number ${entry} of the directory): two independent directory readers differ about ${visible(about)}.`,
    why: twoTrees,
    todo: askTheMaker,
    source: 'two independent readers of PKWARE APPNOTE 4.3.12',
  }),
  'archive/library-objects': define<{ objection: string }>({
    severity: 'stop',
    title: 'A second reader refuses the archive',
    seen: ({ objection }) => `One of two independent directory readers refuses it: ${visible(objection)}.`,
    why: 'What one strict reader refuses, the panel’s reader may refuse as well.',
    todo: askTheMaker,
    source: 'two independent readers of PKWARE APPNOTE 4.3',
  }),
  'archive/local-header-missing': define<{ offset: number }>({
    severity: 'stop',
    title: 'A file is not where the directory says',
    seen: ({ offset }, subject) => `${placed(subject, offset)}: there is no file header at that place.`,
    why: 'Bytes were lost or put in on the way; the panel would read something else as this file.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.3.7, 4.4.16',
  }),
  'archive/headers-disagree': define<{ offset: number; differing: readonly DifferingPart[] }>({
    severity: 'stop',
    title: 'An entry is described in two ways',
    seen: ({ offset, differing }, subject) =>
      `${placed(subject, offset)}: ${differing.map(({ part, directory, local }) => `${part} is "${visible(directory)}" in the directory and "${visible(local)}" in the entry’s own header`).join('; ')}.`,
    why: headersAndDirectory,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.7, 4.3.12, 4.4.4',
  }),
  'archive/streamed-on-one-side': define<{ offset: number; where: string }>({
    severity: 'caution',
    title: 'An entry is marked as streamed in one place only',
    seen: ({ offset, where }, subject) =>
      `${placed(subject, offset)} is marked as written before its size was known in ${where} alone.`,
    why: 'Sizes and checksum agree, so most programs unpack it; strict ones complain.',
    todo: 'If the archive comes from the maker’s support page and its published hash is right, go on.',
    source: 'PKWARE APPNOTE 4.4.4, bit 3',
  }),
  'archive/descriptor-missing': define<{ offset: number }>({
    severity: 'stop',
    title: 'The record after a file is missing',
    seen: ({ offset }, subject) => `${named(subject)} promises a data descriptor at byte ${offset}; there is none.`,
    why: headersAndDirectory,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.9, 4.4.4',
  }),
  'archive/descriptor-disagrees': define<{ offset: number }>({
    severity: 'stop',
    title: 'The record after a file contradicts the directory',
    seen: ({ offset }, subject) =>
      `${named(subject)}: the data descriptor at byte ${offset} states another size or checksum than the directory.`,
    why: headersAndDirectory,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.9',
  }),
  'archive/hidden-entry': define<{ offset: number }>({
    severity: 'stop',
    title: 'There is a file that the directory does not name',
    seen: ({ offset }) => `A file header lies at byte ${offset}, and no record of the directory points to it.`,
    why: `Programs that walk the headers from the start unpack it, programs that trust the directory do not. ${twoTrees}`,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.6, 4.3.7',
  }),
  'archive/entries-overlap': define<{ offset: number }>({
    severity: 'stop',
    title: 'Two entries share the same bytes',
    seen: ({ offset }, subject) => `${placed(subject, offset)} starts inside the entry before it.`,
    why: 'No archiver writes that. It is how a small archive is made to unpack into far more than a stick can hold.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.6',
  }),
  'archive/entry-outside': define<{ offset: number; compressedBytes: number }>({
    severity: 'stop',
    title: 'A file reaches beyond the archive',
    seen: ({ offset, compressedBytes }, subject) =>
      `${placed(subject, offset)} would have ${bytesOf(compressedBytes)} of data and reach into the directory or past the end of the file.`,
    why: 'Its bytes are not all there. The panel would refuse it or install rubbish.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.3.6',
  }),
  'archive/unnamed-bytes': define<{ offset: number; bytes: number }>({
    severity: 'caution',
    title: 'Bytes that belong to no file',
    seen: ({ offset, bytes }) => `${bytesOf(bytes)} from byte ${offset} belong to no entry.`,
    why: 'Often what an archiver left behind when a file was replaced. Programs that walk the headers may stop there.',
    todo: 'If the archive comes from the maker’s support page and its published hash is right, go on.',
    source: 'PKWARE APPNOTE 4.3.6',
  }),
  'archive/padding': define<{ offset: number; bytes: number }>({
    severity: 'note',
    title: 'Zeros between files',
    seen: ({ offset, bytes }) => `${bytesOf(bytes)} of zeros from byte ${offset} belong to no entry.`,
    why: 'Used to align files; harmless to programs that follow the directory.',
    todo: 'Nothing.',
    source: 'common practice',
  }),
};
