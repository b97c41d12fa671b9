import { define } from '../define.ts';
import { askTheMaker, placed, twoTrees, visible } from './archive-words.ts';

const outside =
  'A careless program would write it outside the stick or over files of this computer. No maker’s archive needs that.';
const sources = 'PKWARE APPNOTE 4.4.17';
const naming = 'Microsoft, Naming Files, Paths, and Namespaces';

/** Names that mean something else than one file on the stick. */
export const archiveNameFindings = {
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
    todo: 'Type the name of the support page over it, letter by letter, and run this again.',
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
    todo: 'If the archive comes from the maker’s support page and its published hash is right, go on.',
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
