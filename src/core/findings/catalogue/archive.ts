import type { ArchiveReach } from '../../archive-format/archive-reach.ts';
import type { DifferingPart } from '../../archive-format/read-local-header.ts';
import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import { listInWords } from '../../text/words.ts';

/** Sentences that several archive findings share. */
export const downloadAgain =
  'Download the archive again from the maker’s support page, then run this check again. Do not repair it by hand.';

const askTheMaker =
  'Download the archive again from the maker’s support page. If the fresh copy is the same, ask the maker; do not zip it again yourself, that would break its signature.';

/** Nothing that a panel must mind, where the archive is the maker's own. */
const publishedOrFresh =
  'If its hash is the one on the maker’s support page, go on: the maker packed it so. If not, download the archive again there.';

const twoTrees =
  'Two programs would unpack two different things from it. What was checked here may not be what the panel installs.';

/** "entry "name" (byte 42)". */
const placed = (subject: string, offset: number): string => `${named(subject)} (byte ${offset})`;

export const named = (subject: string): string => (subject === '' ? 'The archive' : `Entry "${visible(subject)}"`);

const longestShown = 160;

/** Control characters shown by their pictures and length bounded, so that a hostile name cannot fill the terminal. */
export const visible = (text: string): string =>
  (text.length <= longestShown ? text : `${text.slice(0, longestShown)}…`)
    .replace(/[\x00-\x1f]/g, (char) => String.fromCodePoint(0x2400 + char.charCodeAt(0)))
    .replace(/[\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g, '\ufffd');

export const bytesOf = (count: number): string => `${count.toLocaleString('en-US')} byte${count === 1 ? '' : 's'}`;

function partMissing({ cut, entry, offset, reachesTo }: ArchiveReach): string {
  const who = entry === '' ? 'An entry' : `Entry "${visible(entry)}"`;
  switch (cut) {
    case 'entry':
      return `${who}, which starts at byte ${offset}, reaches to byte ${reachesTo}, and the directory comes after it.`;
    case 'sizes':
      return `${who}, which starts at byte ${offset}, states its length only after its data, and the directory comes after it.`;
    case 'directory':
      return `The directory, which starts at byte ${offset}, reaches at least to byte ${reachesTo}, and the end record comes after it.`;
    case 'end':
      return `What closes the archive starts at byte ${offset} and is not whole.`;
  }
}

/** The file is not what its name claims, or is no whole download. */
const archiveKindFindings = {
  'archive/empty-file': define<NoFacts>({
    severity: 'stop',
    title: 'The file is empty',
    seen: () => 'The file has no bytes at all.',
    why: 'There is nothing a panel could install. Often a download that never started, or a cloud folder that holds only the name.',
    todo: 'Download it again, or make the cloud folder keep it on this computer, then check it again.',
    source: 'common practice',
  }),
  'archive/placeholder': define<{ fileBytes: number }>({
    severity: 'stop',
    title: 'The file is a placeholder',
    seen: ({ fileBytes }) => `The file starts with nothing but zeros (${bytesOf(fileBytes)} in all) and is no archive.`,
    why: 'The room for a download was set aside and never filled, so the panel would find no firmware in it.',
    todo: downloadAgain,
    source: 'common practice',
  }),
  'archive/cut-off': define<{ fileBytes: number; reach: ArchiveReach | undefined }>({
    severity: 'stop',
    title: 'The download stopped early: the archive is cut off',
    seen: ({ fileBytes, reach }) =>
      `It starts as a zip archive, but the end of it is missing: there are ${bytesOf(fileBytes)} and no end record of its own.${reach === undefined ? '' : ` ${partMissing(reach)} At least ${bytesOf(reach.leastBytes - fileBytes)} are missing of ${reach.leastBytes.toLocaleString('en-US')} or more.`}`,
    why: 'The download or copy stopped early. The panel would refuse it, or stop half way through.',
    todo: 'Download it again and compare the size with the one on the support page.',
    source: 'PKWARE APPNOTE 4.3.6, 4.3.7, 4.3.12, 4.3.16',
  }),
  'archive/length-differs': define<{ fileBytes: number; expectedBytes: number }>({
    severity: 'stop',
    title: 'The file does not have the length that you gave',
    seen: ({ fileBytes, expectedBytes }) =>
      `There are ${bytesOf(fileBytes)}; ${bytesOf(expectedBytes)} are expected: ${fileBytes < expectedBytes ? `${bytesOf(expectedBytes - fileBytes)} are missing` : `${bytesOf(fileBytes - expectedBytes)} too many`}.`,
    why: 'It is not the whole file that the maker published: the download stopped early, or it is another file.',
    todo: 'Compare the number with the one on the support page; where it is right, download the archive again.',
    source: 'common practice',
  }),
  'archive/not-a-zip': define<{ kind: string; firstLine: string | undefined; fileBytes: number }>({
    severity: 'stop',
    title: 'This is not a zip archive',
    seen: ({ kind, firstLine, fileBytes }) =>
      `The file is ${kind} (${bytesOf(fileBytes)})${firstLine === undefined ? '' : `; it begins: ${visible(firstLine)}`}.`,
    why: 'The panel looks for firmware in a zip archive and would not find any. A login or error page saved under the archive’s name is the usual cause.',
    todo: ({ kind }) =>
      kind.includes('page') || kind.includes('answer') || kind.includes('message')
        ? 'Sign in at the maker’s support page in a browser, download the archive there, and check it again.'
        : 'Look on the support page for the zip archive for this panel; if the maker delivers another kind of file, follow the maker’s document.',
    source: 'PKWARE APPNOTE 4.3.6; signatures of the formats named',
  }),
  'archive/split-set': define<{ offset: number; part: number }>({
    severity: 'stop',
    title: 'One part of a split archive',
    seen: ({ part, offset }, subject) =>
      `${named(subject)} belongs to a set of several files; this refers to part ${part} (byte ${offset}).`,
    why: 'A panel reads one whole archive. With parts missing it has half an update.',
    todo: 'Download the undivided archive, or all parts, and join them as the maker’s document says.',
    source: 'PKWARE APPNOTE 4.3.1, 4.4.19 to 4.4.21, 8.5',
  }),
  'archive/no-files': define<{ folders: number }>({
    severity: 'stop',
    title: 'There is no file in the archive',
    seen: ({ folders }) =>
      `The archive is whole but holds ${folders === 0 ? 'nothing' : `${folders} folders and no file`}.`,
    why: 'There is nothing a panel could install.',
    todo: downloadAgain,
    source: 'common practice',
  }),
  'archive/wrapper': define<{ inner: readonly string[]; papers: number }>({
    severity: 'stop',
    title: 'The firmware is in an archive inside this archive',
    seen: ({ inner, papers }) =>
      `It holds ${inner.map((name) => `"${visible(name)}"`).join(', ')}${papers === 0 ? '' : ` beside ${papers} other ${papers === 1 ? 'file' : 'files'}`}, and no firmware of its own.`,
    why: 'In-OS the panel opens the outer archive and finds no firmware there; in recovery it finds an archive where its files should lie.',
    todo: ({ inner }) =>
      inner.length === 1
        ? `Unpack this archive once, and give "${visible(inner[0] ?? '')}" out of it to this tool instead, under that name.`
        : 'Unpack this archive once, pick the inner archive for this panel by its label, and give that to this tool.',
    source: 'common practice',
  }),
  'archive/wrapper-seen': define<{ inner: readonly string[]; papers: number }>({
    severity: 'caution',
    title: 'This looks like an archive around the real one',
    seen: ({ inner, papers }) =>
      `It holds ${inner.map((name) => `"${visible(name)}"`).join(', ')}${papers === 0 ? '' : ` and ${papers} papers`}, and nothing else.`,
    why: 'Some makers wrap the firmware with its papers. A panel that wants the inner archive refuses the outer one.',
    todo: 'Read the maker’s document: if the panel wants the inner archive, unpack this one once and use that.',
    source: 'common practice',
  }),
  'archive/nested-folder': define<{ folder: string; depth: number }>({
    severity: 'stop',
    title: 'Everything lies inside one folder',
    seen: ({ folder, depth }) =>
      `The whole tree is ${depth} folder${depth === 1 ? '' : 's'} deep, in "${visible(folder)}"; nothing is at the root.`,
    why: 'In recovery the panel looks at the stick’s root. It would answer that no firmware was found.',
    todo: 'Get the maker’s own archive instead of one that was unpacked and zipped again. If the maker’s document does want this folder at the root, accept this finding: --accept archive/nested-folder, and --because with who says so.',
    source: 'common practice',
  }),
  'archive/nested-folder-seen': define<{ folder: string; depth: number }>({
    severity: 'note',
    title: 'Everything lies inside one folder',
    seen: ({ folder, depth }) =>
      `The whole tree is ${depth} folder${depth === 1 ? '' : 's'} deep, in "${visible(folder)}"; nothing is at the root.`,
    why: 'In recovery a panel looks at the stick’s root and may not look into folders.',
    todo: 'Before a recovery, compare with the layout in the maker’s document.',
    source: 'common practice',
  }),
  'archive/name-of-copy': define<{ mark: string; original: string }>({
    severity: 'caution',
    title: 'The name was changed by a download',
    seen: ({ mark, original }, subject) =>
      `"${visible(subject)}" ends in "${mark}"; the maker’s name was probably "${visible(original)}".`,
    why: 'Panels look for an exact name. A second download of the same file gets such an ending, and it may be a different build from the first.',
    todo: ({ original }) =>
      `Compare with the support page. If the content is right, rename it to "${visible(original)}".`,
    source: 'common practice',
  }),
  'archive/name-of-part-download': define<{ ending: string }>({
    severity: 'stop',
    title: 'The name says that the download is not finished',
    seen: ({ ending }, subject) =>
      `"${visible(subject)}" ends in "${ending}", as browsers name a download that still runs.`,
    why: 'Half a download is refused by the panel, or stops it half way.',
    todo: 'Let the download finish; the browser then gives the file its own name.',
    source: 'common practice',
  }),
  'archive/name-of-set-part': define<{ part: string }>({
    severity: 'stop',
    title: 'The name says that this is one part of a set',
    seen: ({ part }, subject) => `"${visible(subject)}" is part ${part} of a divided archive.`,
    why: 'With parts missing the panel has half an update.',
    todo: 'Download the undivided archive, or all parts, and join them as the maker’s document says.',
    source: 'common practice',
  }),
  'archive/name-not-zip': define<NoFacts>({
    severity: 'caution',
    title: 'The archive does not end in .zip',
    seen: (_, subject) => `"${visible(subject)}" is a zip archive by content; its name says otherwise.`,
    why: 'A panel that lists update files by their ending would not show it.',
    todo: 'Compare with the file name on the support page, and give the file that name.',
    source: 'common practice',
  }),
};

const headersAndDirectory =
  'Programs that trust the directory at the end see one thing, programs that walk the headers from the start another. The panel may use either.';

/** The records that hold the archive together. */
const archiveStructureFindings = {
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
    why: 'Firmware has thousands of files at most. A panel has no memory for such a directory; rather the record that states its size is damaged or made up.',
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
    todo: publishedOrFresh,
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
    todo: publishedOrFresh,
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

const outside =
  'A careless program would write it outside the stick or over files of this computer. No maker’s archive needs that.';
const sources = 'PKWARE APPNOTE 4.4.17';
const naming = 'Microsoft, Naming Files, Paths, and Namespaces';

/** Names that mean something else than one file on the stick. */
const archiveNameFindings = {
  'archive/name-empty': define<{ offset: number }>({
    severity: 'stop',
    title: 'A file without a name',
    seen: ({ offset }) => `The entry at byte ${offset} has no name.`,
    why: 'Programs skip it, invent a name or fail.',
    todo: askTheMaker,
    source: sources,
  }),
  'archive/name-absolute': define<{ offset: number }>({
    severity: 'stop',
    title: 'A name that starts at the top of the disk',
    seen: ({ offset }, subject) => `${placed(subject, offset)} starts with a slash.`,
    why: outside,
    todo: askTheMaker,
    source: sources,
  }),
  'archive/name-drive': define<{ offset: number }>({
    severity: 'stop',
    title: 'A name with a drive letter',
    seen: ({ offset }, subject) => `${placed(subject, offset)} names a drive.`,
    why: outside,
    todo: askTheMaker,
    source: sources,
  }),
  'archive/name-climbs': define<{ offset: number }>({
    severity: 'stop',
    title: 'A name that climbs out of its folder',
    seen: ({ offset }, subject) => `${placed(subject, offset)} has ".." in its path.`,
    why: outside,
    todo: askTheMaker,
    source: `${sources}; RFC 8493, 5.1`,
  }),
  'archive/name-backslash': define<{ offset: number }>({
    severity: 'stop',
    title: 'A name with a backslash',
    seen: ({ offset }, subject) => `${placed(subject, offset)} has a backslash in it; only / may part folders.`,
    why: `Programs on Windows make folders of it, programs on Android and Linux one file with an odd name. ${twoTrees}`,
    todo: askTheMaker,
    source: sources,
  }),
  'archive/name-control': define<{ offset: number }>({
    severity: 'stop',
    title: 'A name with invisible characters',
    seen: ({ offset }, subject) => `${placed(subject, offset)} has a control character in its name.`,
    why: 'Some programs end the name there, some drop the character; FAT cannot hold it.',
    todo: askTheMaker,
    source: naming,
  }),
  'archive/name-invisible': define<{ places: string }>({
    severity: 'caution',
    title: 'The name of the archive holds characters that cannot be seen',
    seen: ({ places }, subject) => `"${visible(subject)}": ${visible(places)}.`,
    why: 'Panels look for an exact name. This one is another than it looks, and a family that reads names will not know it.',
    todo: 'Rename the file: type the name that the support page shows, letter by letter. Then run the same command again.',
    source: 'Unicode Standard, UAX #44; common practice',
  }),
  'archive/entry-invisible': define<{ offset: number; places: string }>({
    severity: 'caution',
    title: 'A name in the archive holds characters that cannot be seen',
    seen: ({ offset, places }, subject) => `${placed(subject, offset)}: ${visible(places)}.`,
    why: 'A panel that looks for the name as it is shown does not find it. Some characters even show it in another order than it has.',
    todo: askTheMaker,
    source: 'Unicode Standard, UAX #9 and #44; common practice',
  }),
  'archive/name-not-for-fat': define<{ offset: number; part: string; why: string }>({
    severity: 'stop',
    title: 'A name that a FAT stick cannot hold',
    seen: ({ offset, part, why }, subject) => `${placed(subject, offset)}: "${visible(part)}" has ${why}.`,
    why: 'It would get another name on the stick, or none, and the panel would not find it.',
    todo: askTheMaker,
    source: naming,
  }),
  'archive/name-detour': define<{ offset: number }>({
    severity: 'stop',
    title: 'A path with empty parts or dots',
    seen: ({ offset }, subject) => `${placed(subject, offset)} has an empty part or a single dot in its path.`,
    why: 'Programs make different paths of it.',
    todo: askTheMaker,
    source: sources,
  }),
  'archive/two-names': define<{ offset: number; shown: string; plain: string }>({
    severity: 'stop',
    title: 'One file with two names',
    seen: ({ offset, shown, plain }, subject) =>
      `${placed(subject, offset)} is "${visible(shown)}" to programs that read its Unicode field and "${visible(plain)}" to those that do not.`,
    why: twoTrees,
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.6.9',
  }),
  'archive/name-broken': define<{ offset: number }>({
    severity: 'stop',
    title: 'A name with broken letters',
    seen: ({ offset }, subject) => `${placed(subject, offset)} says its name is UTF-8, and it is not.`,
    why: 'Every program makes another name of it.',
    todo: askTheMaker,
    source: 'PKWARE APPNOTE 4.4.4, bit 11; appendix D',
  }),
  'archive/name-alphabet': define<{ offset: number }>({
    severity: 'caution',
    title: 'A name in an unknown alphabet',
    seen: ({ offset }, subject) =>
      `${placed(subject, offset)} has letters beyond ASCII and does not say which alphabet they are from.`,
    why: 'Programs guess, so the name on the stick may look different at the panel.',
    todo: 'Look at the name in the plan. If the panel needs this file by name, compare with the maker’s document.',
    source: 'PKWARE APPNOTE appendix D',
  }),
  'archive/name-twice': define<{ offset: number }>({
    severity: 'stop',
    title: 'Two files with the same name',
    seen: ({ offset }, subject) => `${placed(subject, offset)} has a name that was there before.`,
    why: `Some programs keep the first, some the last. ${twoTrees}`,
    todo: askTheMaker,
    source: 'common practice',
  }),
  'archive/folder-twice': define<{ offset: number }>({
    severity: 'caution',
    title: 'A folder is listed twice',
    seen: ({ offset }, subject) => `Folder "${visible(subject)}" (byte ${offset}) was listed before.`,
    why: 'It makes no difference to what is unpacked; strict programs may refuse the archive.',
    todo: publishedOrFresh,
    source: 'common practice',
  }),
  'archive/file-and-folder': define<{ offset: number; other: string }>({
    severity: 'stop',
    title: 'The same name for a file and a folder',
    seen: ({ offset, other }, subject) =>
      `${placed(subject, offset)} and "${visible(other)}": one is a file, the other a folder.`,
    why: 'Both cannot be on the stick; which one is depends on the program.',
    todo: askTheMaker,
    source: naming,
  }),
  'archive/twins': define<{ offset: number; other: string; differ: 'case' | 'unicode-form' | 'tail' }>({
    severity: 'stop',
    title: 'Two names that are one on a stick',
    seen: ({ offset, other, differ }, subject) =>
      `${placed(subject, offset)} and "${visible(other)}" differ only in ${{ case: 'upper and lower case', 'unicode-form': 'the way accents are written', tail: 'a dot or space at the end' }[differ]}.`,
    why: 'A FAT stick has room for one of them; the other is lost without a word.',
    todo: askTheMaker,
    source: `${naming}; Unicode Standard Annex 15`,
  }),
};

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
const archiveContentFindings = {
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
    todo: publishedOrFresh,
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

/** The archive against what its maker published about it. */
const publishedHashFindings = {
  'archive/hash-matches': define<{ algorithm: string; from: string }>({
    severity: 'note',
    title: 'The published hash is right',
    seen: ({ algorithm, from }) => `The ${algorithm} given by ${visible(from)} is that of this file.`,
    why: 'The file is byte for byte the one that hash was made from.',
    todo: 'Nothing.',
    source: 'FIPS 180-4; RFC 1321',
  }),
  'archive/as-kept': define<{ algorithm: string; from: string }>({
    severity: 'note',
    title: 'As the desk kept it',
    seen: ({ algorithm, from }) => `The ${algorithm} in ${visible(from)} is that of this file.`,
    why: 'It did not change since. Whether it is what its maker published was not proven then, and this does not prove it.',
    todo: 'Nothing.',
    source: 'FIPS 180-4',
  }),
  'archive/hash-differs': define<{ algorithm: string; from: string; published: string; computed: string }>({
    severity: 'stop',
    title: 'The published hash is another one',
    seen: ({ algorithm, from, published, computed }) =>
      `${algorithm} by ${visible(from)}: ${published}; of this file: ${computed}.`,
    why: 'This is not the file that was published: another build, a damaged download, or a changed file. Installing it can ruin the panel.',
    todo: `Compare the build and the hash on the support page. ${downloadAgain}`,
    source: 'FIPS 180-4; RFC 1321',
  }),
  'archive/hash-weak': define<{ algorithm: string; from: string }>({
    severity: 'caution',
    title: 'Only a weak hash was published',
    seen: ({ algorithm, from }) => `${visible(from)} gives only ${algorithm}.`,
    why: 'It shows damage on the way, but a forger can make another file with the same value.',
    todo: 'If the maker publishes a SHA-256 as well, give it with --expect-sha256.',
    source: 'RFC 6151 (MD5); NIST SP 800-131A (SHA-1)',
  }),
  'archive/hash-crc-only': define<{ from: string }>({
    severity: 'unproven',
    title: 'Only a CRC-32 was published',
    seen: ({ from }) => `${visible(from)} gives a CRC-32 and nothing else.`,
    why: 'It shows most damage on the way, and nothing more: any other file can be given the same value in a moment, so it does not show that this is what the maker published.',
    todo: 'Look for a SHA-256 on the support page and give it with --expect-sha256. If the maker publishes nothing better, say so in the family file: published-hash: none.',
    source: 'ITU-T V.42, 8.1.1.6.2 (CRC-32); RFC 3385, 1: made against accidents',
  }),
  'archive/hash-list-not-used': define<{ because: 'kind' | 'too-long' | 'unopened'; most: number }>({
    severity: 'caution',
    title: 'A checksum file beside the archive was seen and not used',
    seen: ({ because, most }, subject) =>
      `${visible(subject)} ${because === 'kind' ? 'is a checksum file of a kind that is not read here' : because === 'too-long' ? `has more than ${bytesOf(most)}, too much for a list` : 'could not be opened'}.`,
    why: 'What its maker published there was not compared with the archive.',
    todo: 'Check it by its own program, or copy a SHA-256 or SHA-512 from the support page and give it with --expect-sha256 or --expect-sha512. A very long list: keep the line of this archive in a file named after it, ending in .sha256.',
    source: 'common practice, no source',
  }),
  'archive/hash-list-unreadable': define<{ line: number; text: string }>({
    severity: 'caution',
    title: 'The checksum file could not be read',
    seen: ({ line, text }, subject) =>
      `${visible(subject)}, line ${line}: "${visible(text)}" is no checksum in any known form.`,
    why: 'What the maker published could not be compared in full.',
    todo: 'Download the checksum file again, or copy the value from the support page and give it with --expect-sha256.',
    source: 'common practice: forms of coreutils and BSD',
  }),
  'archive/hash-list-silent': define<{ names: readonly string[] }>({
    severity: 'caution',
    title: 'The checksum file does not name this archive',
    seen: ({ names }, subject) =>
      `${visible(subject)} names ${names.length === 0 ? 'nothing' : names.slice(0, 3).map(visible).join(', ')}${names.length > 3 ? ` and ${names.length - 3} more` : ''}, not this file.`,
    why: 'The archive was renamed, or the list belongs to another download.',
    todo: 'Compare the file name with the support page, or give the value with --expect-sha256.',
    source: 'common practice',
  }),
  'archive/no-published-hash': define<NoFacts>({
    severity: 'unproven',
    title: 'No published hash to compare with',
    seen: () => 'No hash was given, and no checksum file of its maker lies beside the archive.',
    why: 'However whole an archive is in itself, nothing shows that it is the one the maker published.',
    todo: 'Copy the hash from the support page and give it with --expect-sha256, or save the checksum file beside the archive. Of a package on the shelf: give it to stickwright shelf add with the same file once more, which settles it for all sticks to come. If the maker publishes none, say so in the family file: published-hash: none.',
    source: 'common practice',
  }),
};

/** Findings of the area `archive/`. */
export const archiveFindings = {
  ...archiveKindFindings,
  ...archiveStructureFindings,
  ...archiveNameFindings,
  ...archiveContentFindings,
  ...publishedHashFindings,
};
