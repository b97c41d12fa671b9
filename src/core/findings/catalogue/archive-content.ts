import { define } from '../define.ts';
import { listInWords } from '../words.ts';
import { askTheMaker, bytesOf, downloadAgain, named, placed } from './archive-words.ts';

/** Methods by number (APPNOTE 4.4.5). */
const methodNames: Readonly<Record<number, string>> = {
  1: 'Shrink',
  2: 'Reduce',
  3: 'Reduce',
  4: 'Reduce',
  5: 'Reduce',
  6: 'Implode',
  9: 'Deflate64',
  12: 'bzip2',
  14: 'LZMA',
  93: 'Zstandard',
  94: 'MP3',
  95: 'xz',
  96: 'JPEG',
  97: 'WavPack',
  98: 'PPMd',
  99: 'AES encryption',
};

/** What an entry holds, or cannot hold. */
export const archiveContentFindings = {
  'archive/encrypted': define<{ offset: number }>({
    severity: 'stop',
    title: 'A file is locked with a password',
    seen: ({ offset }, subject) => `${placed(subject, offset)} is encrypted.`,
    why: 'A panel cannot ask for the password, and without it nothing here can be checked.',
    todo: 'Unlock it as the maker’s document says, or get the archive that is meant for panels.',
    source: 'PKWARE APPNOTE 4.4.4, bits 0, 6 and 13; 7.0',
  }),
  'archive/method-unsupported': define<{ offset: number; method: number }>({
    severity: 'stop',
    title: 'A file is packed in a way that panels do not know',
    seen: ({ offset, method }, subject) =>
      `${placed(subject, offset)} uses method ${method}${methodNames[method] === undefined ? '' : ` (${methodNames[method]})`}; only 0 (stored) and 8 (deflate) are read everywhere.`,
    why: 'Boot loaders and updaters know stored and deflate. They would refuse the archive.',
    todo: 'Get the maker’s own archive; one that was zipped again with other settings looks like this.',
    source: 'PKWARE APPNOTE 4.4.5',
  }),
  'archive/version-unknown': define<{ offset: number; version: number }>({
    severity: 'stop',
    title: 'A file needs a newer unpacker than there is',
    seen: ({ offset, version }, subject) =>
      `${placed(subject, offset)} asks for version ${version.toFixed(1)} of the format; 6.3 is the newest.`,
    why: 'A program that heeds it refuses the archive. The record is probably damaged.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.4.3.2',
  }),
  'archive/version-high': define<{ offset: number; version: number }>({
    severity: 'caution',
    title: 'A file asks for a newer unpacker than it needs',
    seen: ({ offset, version }, subject) =>
      `${placed(subject, offset)} asks for version ${version.toFixed(1)} of the format, although it is packed in the plain way (2.0, or 4.5 for large files).`,
    why: 'Unpackers that heed the number refuse it; others unpack it.',
    todo: 'If the archive comes from the maker’s support page and its published hash is right, go on.',
    source: 'PKWARE APPNOTE 4.4.3.2',
  }),
  'archive/folder-by-attribute': define<{ offset: number }>({
    severity: 'caution',
    title: 'A file that is marked as a folder',
    seen: ({ offset }, subject) => `${placed(subject, offset)} has a folder’s attribute but a file’s name.`,
    why: 'Some programs make a folder of it, most a file.',
    todo: 'If the panel needs this file by name, look for it on the stick before you go.',
    source: 'PKWARE APPNOTE 4.4.15',
  }),
  'archive/patch-data': define<{ offset: number }>({
    severity: 'stop',
    title: 'A file holds only changes to another file',
    seen: ({ offset }, subject) => `${placed(subject, offset)} is marked as compressed patched data.`,
    why: 'Programs that do not know this old kind take the changes for the file itself.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.4, bit 5',
  }),
  'archive/size-impossible': define<{ offset: number; bytes: number; compressedBytes: number; method: number }>({
    severity: 'stop',
    title: 'A size in the archive cannot be true',
    seen: ({ offset, bytes, compressedBytes, method }, subject) =>
      `${placed(subject, offset)} claims ${bytesOf(bytes)} from ${bytesOf(compressedBytes)} ${method === 0 ? 'although it is stored as it is' : 'by deflate, which reaches 1,032 to 1 at most'}.`,
    why: 'The record is damaged, or made to look small and unpack large.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.8, 4.4.9; RFC 1951, 3.2.5',
  }),
  'archive/folder-with-content': define<{ offset: number; bytes: number }>({
    severity: 'stop',
    title: 'A folder that is also a file',
    seen: ({ offset, bytes }, subject) =>
      `${placed(subject, offset)} is named as a folder and holds ${bytesOf(bytes)}.`,
    why: 'Some programs make a folder of it, some a file, some fail.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.3.8: folders have no data',
  }),
  'archive/link': define<{ offset: number }>({
    severity: 'stop',
    title: 'There is a link in the archive',
    seen: ({ offset }, subject) => `${placed(subject, offset)} is a link to another place, not a file.`,
    why: 'A FAT stick cannot hold links; the panel would find a tiny text file. A link can also lead out of the target folder.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.15 with POSIX file modes',
  }),
  'archive/special-file': define<{ offset: number; kind: string }>({
    severity: 'stop',
    title: 'There is a special file in the archive',
    seen: ({ offset, kind }, subject) => `${placed(subject, offset)} is a ${kind}, not a file.`,
    why: 'A FAT stick cannot hold it.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.15 with POSIX file modes',
  }),
  'archive/set-id': define<{ offset: number }>({
    severity: 'note',
    title: 'A file asks to run with another user’s rights',
    seen: ({ offset }, subject) => `${placed(subject, offset)} has a set-id bit.`,
    why: 'A FAT stick does not keep it. It matters only if the panel expected it.',
    todo: 'Nothing, unless the maker’s document says otherwise.',
    source: 'POSIX file modes',
  }),
  'archive/more-alike': define<{ code: string; more: number; shown: number }>({
    severity: 'note',
    title: 'The same was found many times more',
    seen: ({ code, more, shown }) =>
      `[${code}] holds of ${more.toLocaleString('en-US')} more entries; the first ${shown} are listed.`,
    why: 'A fault that every entry has is one of the whole archive.',
    todo: 'Do what the listed ones say.',
    source: 'common practice, no source',
  }),
  'archive/too-many-entries': define<{ statedEntries: number; most: number }>({
    severity: 'stop',
    title: 'The archive holds more files than any firmware',
    seen: ({ statedEntries, most }) =>
      `It states ${statedEntries.toLocaleString('en-US')} entries; more than ${most.toLocaleString('en-US')} are not taken, and none of them was looked at.`,
    why: 'Firmware packages hold some hundreds of files. An archive with so many is not one, or was made to exhaust whoever opens it, the panel included.',
    todo: askTheMaker,
    source: 'common practice, no source; PKWARE APPNOTE 4.4.22: more entries cannot be counted without Zip64',
  }),
  'archive/hidden-twins': define<{ paths: readonly string[] }>({
    severity: 'stop',
    title: 'Hidden twins whose names begin with ._ are part of the archive',
    seen: ({ paths }) => `A Mac packed them beside the files: ${listInWords(paths)}.`,
    why: 'Laid out on the stick, such a twin sorts before the real file; a panel that opens it aborts the update.',
    todo: `The archive was zipped again on a Mac, or on a medium that one had written. ${askTheMaker}`,
    source: 'RFC 1740 (AppleDouble); common practice, no source',
  }),
  'archive/hidden-twins-seen': define<{ paths: readonly string[] }>({
    severity: 'caution',
    title: 'Hidden twins whose names begin with ._ are part of the archive',
    seen: ({ paths }) => `A Mac packed them beside the files: ${listInWords(paths)}.`,
    why: 'A panel that unpacks the archive itself gets them too, and may take one for the file. It also shows that this is perhaps not the maker’s own archive.',
    todo: `Compare its hash with the one on the support page. ${askTheMaker}`,
    source: 'RFC 1740 (AppleDouble); common practice, no source',
  }),
  'archive/mac-folder': define<{ files: number; of: number }>({
    severity: 'caution',
    title: 'The archive was packed on a Mac',
    seen: ({ files, of }) =>
      `${files.toLocaleString('en-US')} of its ${of.toLocaleString('en-US')} files lie in a folder __MACOSX, which macOS adds.`,
    why: 'In recovery mode the stick carries that folder beside the firmware: a panel that wants nothing else there refuses it, and one that looks into every folder finds a twin of each file. In in-OS mode a panel that unpacks the archive gets the folder too. And perhaps this is not the maker’s own archive.',
    todo: `Compare its hash with the one on the support page. ${askTheMaker}`,
    source: 'RFC 1740 (AppleDouble); common practice, no source',
  }),
  'archive/expands-much': define<{ bytes: number; fileBytes: number }>({
    severity: 'caution',
    title: 'The archive unpacks to far more than its own size',
    seen: ({ bytes, fileBytes }) => `${bytesOf(fileBytes)} unpack to ${bytesOf(bytes)}.`,
    why: 'Images of empty partitions do that and are harmless; an archive made to fill a disk does it too.',
    todo: 'Compare the unpacked size with the maker’s document before you go on.',
    source: 'common practice',
  }),
  'archive/archives-in-archives': define<{ depth: number; bytes: number | undefined }>({
    severity: 'stop',
    title: 'Archives in archives that unpack without end',
    seen: ({ depth, bytes }, subject) =>
      `${named(subject)} holds archives ${depth} levels deep${bytes === undefined ? ', with no end in sight' : ` that unpack to ${bytesOf(bytes)}`}.`,
    why: 'No compression reaches that in one step. It is made to fill a disk, and no firmware looks like this.',
    todo: 'Do not use it. Get the archive from the maker’s support page.',
    source: 'RFC 1951, 3.2.5: at most 1,032 to 1',
  }),
  'archive/content-damaged': define<{ offset: number; stated: string; computed: string }>({
    severity: 'stop',
    title: 'A file in the archive is damaged',
    seen: ({ offset, stated, computed }, subject) =>
      `${placed(subject, offset)} has the CRC-32 ${computed}; the directory states ${stated}.`,
    why: 'Its bytes are not those that were packed. The panel would refuse it or install damaged firmware.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.4.7',
  }),
  'archive/content-unreadable': define<{ offset: number; afterBytes: number }>({
    severity: 'stop',
    title: 'A file in the archive cannot be unpacked',
    seen: ({ offset, afterBytes }, subject) =>
      `${placed(subject, offset)} is no valid deflate data after the first ${bytesOf(afterBytes)}.`,
    why: 'Its bytes are not those that were packed; the panel would stop there.',
    todo: downloadAgain,
    source: 'RFC 1951',
  }),
  'archive/content-ends-early': define<{ offset: number; statedBytes: number; readBytes: number }>({
    severity: 'stop',
    title: 'A file in the archive is too short',
    seen: ({ offset, statedBytes, readBytes }, subject) =>
      `${placed(subject, offset)} has ${bytesOf(readBytes)}; the directory states ${bytesOf(statedBytes)}.`,
    why: 'A part of it is missing. The panel would stop there or install half of it.',
    todo: downloadAgain,
    source: 'PKWARE APPNOTE 4.4.9; RFC 1951, 3.2.3',
  }),
  'archive/content-too-long': define<{ offset: number; statedBytes: number }>({
    severity: 'stop',
    title: 'A file in the archive is longer than stated',
    seen: ({ offset, statedBytes }, subject) =>
      `${placed(subject, offset)} unpacks to more than the ${bytesOf(statedBytes)} that the directory states; reading stopped there.`,
    why: 'Programs that trust the stated size and programs that unpack to the end write different files. It can also be made to fill a disk.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.9',
  }),
  'archive/content-trailed': define<{ offset: number; unusedBytes: number }>({
    severity: 'stop',
    title: 'Bytes are hidden after a file’s data',
    seen: ({ offset, unusedBytes }, subject) =>
      `${placed(subject, offset)}: its packed data ends ${bytesOf(unusedBytes)} before the directory says.`,
    why: 'Programs that unpack as they go look for the next file there and find something else.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.8; RFC 1951, 3.2.3',
  }),
};
