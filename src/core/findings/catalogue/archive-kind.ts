import type { ArchiveReach } from '../../archive-format/archive-reach.ts';
import { define, type NoFacts } from '../define.ts';
import { bytesOf, downloadAgain, named, visible } from './archive-words.ts';

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
export const archiveKindFindings = {
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
    title: 'The archive is cut off',
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
    todo: 'Get the maker’s own archive instead of one that was unpacked and zipped again. If the maker’s document does want this folder at the root, accept this finding by its code.',
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
    todo: 'Compare with the file name on the support page.',
    source: 'common practice',
  }),
};
