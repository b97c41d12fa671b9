import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import type { Mode } from '../../model/mode.ts';
import { countInWords, listInWords, sizeInWords } from '../../text/words.ts';

const startClean =
  'stickwright format erases the stick and makes it new; or let a check of the operating system give the space back (fsck.fat -a, chkdsk /f), look at the files it makes of it, and run the same command again.';

/** Findings of the area `plan/`: whether what would be written can work at the panel. */
export const planFindings = {
  'plan/wipes-the-panel': define<{ mode: Mode }>({
    severity: 'caution',
    title: 'EVERYTHING ON THE PANEL IS WIPED by this update',
    seen: ({ mode }) =>
      `An update in ${mode} mode erases whiteboards, recordings, accounts, apps, settings and network identity.`,
    why: 'A wipe is final: nobody can bring it back.',
    todo: 'Have it approved, back up what is needed, and hold the stick away from every other panel.',
    source: 'The family file; common practice, no source',
  }),
  'plan/mode-not-offered': define<{ mode: Mode; family: string; offered: readonly string[] }>({
    severity: 'stop',
    title: 'This family has no such mode',
    seen: ({ mode, family, offered }) =>
      `Family ${family} has no ${mode} mode; it has ${offered.join(' and ') || 'none'}.`,
    why: 'The panel would not take the stick.',
    todo: 'Choose the other mode, or add the mode to the family file from the maker’s document.',
    source: 'The family file',
  }),
  'plan/required-missing': define<{ pattern: string; deeperAt: string | undefined }>({
    severity: 'stop',
    title: 'What the panel looks for would not be at the root',
    seen: ({ pattern, deeperAt }) =>
      `Nothing matches "${pattern}"${deeperAt === undefined ? '' : `; it lies deeper, at ${deeperAt}`}.`,
    why: 'The panel says that it finds no firmware.',
    todo: ({ deeperAt }) =>
      deeperAt === undefined
        ? 'Check that this is the right archive for recovery; it may be the package for the other mode.'
        : 'The archive holds its tree one folder too deep: somebody packed it again. Get the original from the maker.',
    source: 'The family file',
  }),
  'plan/does-not-fit': define<{
    missingBytes: number;
    freeBytes: number;
    writeBytes: number;
    /** Nobody can look for space that belongs to no file: a mounted folder hides it. */
    mayBeHeld?: boolean;
  }>({
    severity: 'stop',
    noOverride: true,
    title: 'Not enough free space',
    seen: ({ missingBytes, freeBytes, writeBytes }) =>
      `${sizeInWords(writeBytes)} to write, ${sizeInWords(freeBytes)} free; in whole clusters ${sizeInWords(missingBytes)} are missing.`,
    why: 'Half a firmware on a stick is worse than none.',
    todo: ({ mayBeHeld }) =>
      mayBeHeld === true
        ? `Use a larger or an emptier stick. If it should fit, an interrupted write may hold space that no file shows: ${startClean}`
        : 'Use a larger or an emptier stick.',
    source: 'Microsoft FAT specification 1.03: space is given in whole clusters',
  }),
  'plan/space-belongs-to-nobody': define<{ lostBytes: number; freeBytes: number; writeBytes: number }>({
    severity: 'stop',
    noOverride: true,
    title: 'An interrupted write holds the space',
    seen: ({ lostBytes, freeBytes, writeBytes }) =>
      `${sizeInWords(writeBytes)} to write, ${sizeInWords(freeBytes)} free, and ${sizeInWords(lostBytes)} taken that belong to no file. The stick itself is large enough.`,
    why: 'What lies there may be all that is left of something that was pulled while it was written, so it is not given back unasked.',
    todo: `Start clean: ${startClean}`,
    source:
      'Microsoft FAT specification 1.03: a cluster that is marked and in no chain; common practice: every disk check looks for it',
  }),
  'plan/file-too-large': define<{ bytes: number; fileSystem: string }>({
    severity: 'stop',
    noOverride: true,
    title: 'A file is too large for this file system',
    seen: ({ bytes, fileSystem }, subject) =>
      `${subject} has ${sizeInWords(bytes)}; ${fileSystem} holds at most 4,294,967,295 bytes in one file.`,
    why: 'The copy would break off at 4 GiB.',
    todo: 'Use an exFAT stick if this panel takes one in this mode; otherwise ask the maker.',
    source: 'Microsoft FAT specification 1.03: DIR_FileSize is a 32-bit field',
  }),
  'plan/root-full': define<{ needed: number; free: number }>({
    severity: 'stop',
    noOverride: true,
    title: 'The root folder has no space for more names',
    seen: ({ needed, free }) =>
      `${needed} slots are needed and ${free} are free; on FAT12 and FAT16 the root cannot grow.`,
    why: 'A file would be missing.',
    todo: 'Use a stick formatted as FAT32.',
    source: 'Microsoft FAT specification 1.03: BPB_RootEntCnt',
  }),
  'plan/record-too-large': define<{ files: number; bytes: number; largest: number }>({
    severity: 'stop',
    noOverride: true,
    title: 'There are too many files to keep a record of',
    seen: ({ files, bytes, largest }) =>
      `The plan touches ${countInWords(files, 'file')}, whose record could take ${sizeInWords(bytes)}; at most ${sizeInWords(largest)} are ever read back.`,
    why: 'A stick whose record cannot be read is never ready.',
    todo: 'Take an empty stick, or format this one. If the archive itself holds so many files, ask the maker: firmware packages hold some hundreds.',
    source: 'common practice, no source',
  }),
  'plan/short-names-collide': define<{ long: string }>({
    severity: 'stop',
    noOverride: true,
    title: 'A file has the short name that another one may be given',
    seen: ({ long }, subject) =>
      `On FAT a driver makes up a short name such as "${subject.slice(subject.lastIndexOf('/') + 1)}" for "${long}".`,
    why: 'Depending on the driver and on the order, one of the two cannot be written, or a panel opens the wrong one.',
    todo: 'If the archive holds both, ask the maker for one that does not. If the long one lies on the stick already, take it away first, or format the stick.',
    source:
      'Microsoft FAT specification 1.03, "Short Directory Entries"; Linux, fs/fat/namei_vfat.c; FatFs, gen_numname',
  }),
  'plan/name-is-the-tools': define<NoFacts>({
    severity: 'stop',
    noOverride: true,
    title: 'The archive uses a name that the tool needs',
    seen: (_, subject) => `${subject} is where the manifest goes.`,
    why: 'The stick could not be verified later.',
    todo: 'Ask the maker for a package without that name at its root.',
    source: 'README, "What lies on a stick"',
  }),
  'plan/aside-not-possible': define<NoFacts>({
    severity: 'stop',
    noOverride: true,
    title: 'Setting aside does not help here',
    seen: () => 'This panel wants nothing else at the root, and the set-aside folder would lie there.',
    why: 'The panel refuses the stick.',
    todo: 'Copy what you need to another place, then use --leftovers remove, or use an empty stick.',
    source: 'The family file',
  }),
  'plan/folder-beside-the-firmware': define<{ folder: string }>({
    severity: 'caution',
    title: "The tool's own folder lies at the root",
    seen: ({ folder }) => `Beside the firmware there is the folder ${folder} with the manifest.`,
    why: 'This panel wants an empty root; a very strict one may refuse even that.',
    todo: ({ folder }) => `If the panel refuses the stick, verify it once more and then delete ${folder} by hand.`,
    source: 'common practice, no source',
  }),
  'plan/nothing-to-do': define<NoFacts>({
    severity: 'note',
    title: 'The stick already holds exactly this',
    seen: () => 'The stick already holds exactly this. Nothing is written; everything is read and compared.',
    why: 'Running it again does no harm.',
    todo: 'Nothing.',
    source: 'common practice, no source',
  }),
  'plan/read-back-from-cache': define<NoFacts>({
    severity: 'unproven',
    title: 'Read back through the cache, not from the stick',
    seen: () => 'Every byte was compared, but the operating system may have answered from its memory.',
    why: 'What reached the stick is not proven until it has been read from the stick.',
    todo: 'Eject the stick, pull it, plug it in again, and run `stickwright verify`.',
    source: 'common practice, no source',
  }),
  'plan/image-to-copy': define<NoFacts>({
    severity: 'note',
    title: 'An image, not yet a stick',
    seen: () => 'Every byte of the image was read back and compared; no stick has been written.',
    why: 'What reaches a stick is only proven when it is read from that stick.',
    todo: 'Copy the image to a whole stick, pull it, plug it in again, and run `stickwright verify`.',
    source: 'common practice, no source',
  }),
  'plan/read-back-differs': define<{ expected: string; got: string }>({
    severity: 'stop',
    noOverride: true,
    title: 'The stick gives back something else than was written',
    seen: ({ expected, got }, subject) => `${subject}: SHA-256 written ${expected}, read ${got}.`,
    why: 'The stick is worn, counterfeit or badly connected; at the panel it would fail.',
    todo: 'Try another port without a hub. If it happens again, retire the stick.',
    source: 'common practice, no source',
  }),
  'plan/kept-differs': define<{ paths: readonly string[] }>({
    severity: 'stop',
    noOverride: true,
    title: 'Files that looked right are not',
    seen: ({ paths }) => `Same size and CRC-32 as the archive says, other SHA-256: ${listInWords(paths)}.`,
    why: 'A CRC can be met by accident or on purpose; the panel would get other bytes.',
    todo: 'Format the stick, or use another one, and run it again.',
    source: 'FIPS 180-4; CRC-32 is no protection against intent',
  }),
};
