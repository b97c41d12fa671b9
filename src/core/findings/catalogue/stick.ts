import { define } from '../../model/catalogue-entry.ts';
import type { Mode } from '../../model/mode.ts';
import type { FileSystem, OtherVolume, PartitionTable } from '../../model/stick-facts.ts';
import { countInWords, listInWords, roundedSize, sizeInWords } from '../../text/words.ts';

interface Paths {
  readonly paths: readonly string[];
}

/** Who says that nothing is to be written; `driver`: of a volume that is not sound. */
export type ReadOnlyBy = 'drive' | 'driver' | 'mount' | 'account';

const readOnlyInWords: Record<ReadOnlyBy, { readonly seen: string; readonly todo: string }> = {
  drive: {
    seen: 'The stick itself says that it takes no writes.',
    todo: 'Move its lock switch. If it has none, its flash no longer takes writes, as worn flash does: take another stick, and retire this one.',
  },
  driver: {
    seen: 'The operating system has it read-only, and it carries the mark of an unfinished write: so systems do when they meet damage on it.',
    todo: "Eject it, repair it with the operating system's own check (fsck, chkdsk, First Aid) or format it with `stickwright format`, which erases it. Then plug it in and run the same command again.",
  },
  mount: {
    seen: 'The operating system has it mounted read-only; the stick itself could be written.',
    todo: 'Eject it, plug it in again, and run the same command again. If it comes read-only again, mount it for writing.',
  },
  account: {
    seen: 'This account may not write it, or the system lets nobody.',
    todo: 'Run the same command from an account that may write it, or mount the stick and give its folder.',
  },
};

const fileSystemNames: Record<FileSystem, string> = {
  fat12: 'FAT12',
  fat16: 'FAT16',
  fat32: 'FAT32',
  exfat: 'exFAT',
  ntfs: 'NTFS',
  ext: 'ext2/3/4',
  'hfs+': 'HFS+',
  apfs: 'APFS',
  iso9660: 'ISO 9660',
  luks: 'LUKS (encrypted)',
  bitlocker: 'BitLocker (encrypted)',
  other: 'something else',
  unknown: 'unknown',
};

export const fileSystemInWords = (fileSystem: FileSystem): string => fileSystemNames[fileSystem];

const tableNames: Record<PartitionTable, string> = {
  none: 'no partition table',
  mbr: 'an MBR partition table',
  gpt: 'a GPT partition table',
  unknown: 'an unknown partition table',
};

export const tableInWords = (table: PartitionTable): string => tableNames[table];

function otherInWords({ where, number, fileSystem, bytes }: OtherVolume): string {
  const what = fileSystem === 'unknown' ? 'a volume that cannot be recognised' : fileSystemInWords(fileSystem);
  const size = bytes === undefined ? '' : `, ${roundedSize(bytes)}`;
  switch (where) {
    case 'start':
      return `${what} from the first sector on, beside the partition table`;
    case 'partition':
      return `partition ${number} (${what}${size})`;
    case 'logical-drive':
      return `logical drive ${number} (${what}${size})`;
    case 'gpt-partition':
      return `GPT partition ${number} (${what}${size})`;
    case 'old-gpt':
      return `partition ${number} of a second GPT (${what}${size})`;
    case 'same-place':
      return `${what}, marked inside the volume itself`;
    case 'listed':
      return `${number} (${what}${size})`;
  }
}

const formatFirst =
  'Use another stick, or format this one with `stickwright format`, which erases it and makes what the panel takes.';

/** Findings of the area `stick/`: what the stick is, and what lies on it. */
export const stickFindings = {
  'stick/file-system-not-taken': define<{ fileSystem: FileSystem; allowed: readonly FileSystem[]; mode: Mode }>({
    severity: 'stop',
    title: 'The panel does not read this file system',
    seen: ({ fileSystem, allowed, mode }) =>
      `The stick is ${fileSystemInWords(fileSystem)}; in ${mode} mode this panel takes ${allowed.map(fileSystemInWords).join(' or ')}.`,
    why: 'The panel says that there is no file, or offers to format the stick.',
    todo: formatFirst,
    source: 'The family file; boot sector: Microsoft FAT specification 1.03, exFAT specification 3.1.2',
  }),
  'stick/file-system-unknown': define<{ allowed: readonly FileSystem[] }>({
    severity: 'unproven',
    title: 'The file system could not be told',
    seen: ({ allowed }) =>
      `Neither the boot sector nor the operating system tells which file system this is; the panel takes ${allowed.map(fileSystemInWords).join(' or ')}.`,
    why: 'With the wrong file system the panel sees no file.',
    todo: 'Run it again with the right to read the drive (administrator or root), or give the drive instead of the folder.',
    source: 'common practice, no source',
  }),
  'stick/partition-table-not-taken': define<{ table: PartitionTable; allowed: readonly PartitionTable[] }>({
    severity: 'stop',
    title: 'The panel does not read this partition table',
    seen: ({ table, allowed }) =>
      `The stick has ${tableInWords(table)}; for recovery this panel wants ${allowed.map(tableInWords).join(' or ')}.`,
    why: 'The boot loader does not see the stick, although the OS may.',
    todo: formatFirst,
    source: 'The family file; common practice, no source',
  }),
  'stick/partition-table-unknown': define<{ allowed: readonly PartitionTable[] }>({
    severity: 'caution',
    title: 'The partition table could not be read',
    seen: ({ allowed }) =>
      `This panel wants ${allowed.map(tableInWords).join(' or ')}; only the mounted volume could be seen.`,
    why: 'A boot loader may not see a stick with another table, although the OS does.',
    todo: 'Run it again with the right to read the drive (administrator or root), or use a stick that worked at such a panel.',
    source: 'common practice, no source',
  }),
  'stick/several-partitions': define<{ count: number }>({
    severity: 'stop',
    title: 'More than one partition',
    seen: ({ count }) => `The stick has ${count} partitions.`,
    why: 'Boot loaders look at one partition only, mostly the first.',
    todo: formatFirst,
    source: 'common practice, no source',
  }),
  'stick/several-volumes': define<{ others: readonly OtherVolume[] }>({
    severity: 'stop',
    title: 'There is more than one volume on the stick',
    seen: ({ others }) => `Beside this one: ${listInWords(others.map(otherInWords))}.`,
    why: 'Which of them a panel takes is chance: it may see no firmware, or find one in the other volume that nobody checked.',
    todo: 'Save what you need from all of them. Then erase the whole stick with `stickwright format`, which leaves exactly one volume, and prepare it again.',
    source: 'common practice, no source',
  }),
  'stick/rest-not-looked-at': define<Record<string, never>>({
    severity: 'unproven',
    title: 'The rest of the stick was not looked at',
    seen: () => 'Only the mounted volume could be seen; nobody tells what else is on the medium.',
    why: 'A panel may take another volume on the stick than this one.',
    todo: 'Run it again with the right to read the drive (administrator or root), or format the whole stick before it is prepared.',
    source: 'common practice, no source',
  }),
  'stick/rest-as-listed': define<{ device: string }>({
    severity: 'note',
    title: 'The rest of the stick was not read',
    seen: ({ device }) =>
      `The operating system lists no other volume on ${device}; its sectors themselves may not be read without more rights.`,
    why: 'A volume that the system does not list, such as one hidden by the partition table, would not be seen.',
    todo: 'Run it as administrator or root where you want to be sure; a stick formatted with `stickwright format` has one volume only.',
    source: 'common practice, no source',
  }),
  'stick/larger-than-the-panel-takes': define<{ bytes: number; largest: number }>({
    severity: 'stop',
    title: 'The stick is larger than this panel takes',
    seen: ({ bytes, largest }) =>
      `The stick has ${sizeInWords(bytes)}; the family file says at most ${sizeInWords(largest)}.`,
    why: 'Old boot loaders cannot address large sticks and see nothing.',
    todo: 'Use a smaller stick.',
    source: 'The family file; common practice, no source',
  }),
  'stick/large-for-a-boot-loader': define<{ bytes: number }>({
    severity: 'caution',
    title: 'A large stick for recovery',
    seen: ({ bytes }) => `The stick has ${sizeInWords(bytes)}.`,
    why: 'Some boot loaders see no stick of more than 32 GB.',
    todo: 'Take a smaller one along as well, prepared and verified like this one.',
    source: 'common practice, no source',
  }),
  'stick/cluster-too-large': define<{ clusterBytes: number }>({
    severity: 'stop',
    title: 'Clusters larger than boot loaders read',
    seen: ({ clusterBytes }) => `One cluster has ${sizeInWords(clusterBytes)}; the limit is 65,536 bytes.`,
    why: 'A boot loader refuses the whole volume.',
    todo: formatFirst,
    source: 'U-Boot, fs/fat: the cluster size is bounded by 65,536 bytes',
  }),
  'stick/sectors-too-large': define<{ sectorBytes: number }>({
    severity: 'stop',
    title: 'Sectors that boot loaders do not read',
    seen: ({ sectorBytes }) => `One sector has ${sizeInWords(sectorBytes)}; boot loaders expect 512 bytes.`,
    why: 'A boot loader stops with a sector-size error.',
    todo: 'Use another stick.',
    source: 'U-Boot, fs/fat: the sector size must be that of the device',
  }),
  'stick/dirty': define<Record<string, never>>({
    severity: 'stop',
    title: 'The stick was pulled without being ejected',
    seen: () => 'The volume carries the mark of an unfinished write.',
    why: 'The panel may mount it read-only, ask to repair it, or see old content.',
    todo: "Repair it with the operating system's own check (fsck, chkdsk, First Aid), or format it with `stickwright format`, which erases it; then run the same command again.",
    source: 'Microsoft FAT specification 1.03: FAT[1] high bits; exFAT specification 3.1.13',
  }),
  'stick/two-names': define<{ pairs: readonly { readonly first: string; readonly second: string }[] }>({
    severity: 'stop',
    title: 'A file has its old name and its new one',
    seen: ({ pairs }) => {
      const named = pairs.slice(0, 3).map(({ first, second }) => `${first} and ${second}`);
      return `${listInWords([...named, ...(pairs.length > 3 ? [countInWords(pairs.length - 3, 'more pair')] : [])])}.`;
    },
    why: 'It was pulled while the file was moved. Both names may lead to one place, and this account may not look at the drive to tell: with the one name, the other would lose what it holds.',
    todo: 'Copy one of the two to the computer if you need it. Then run the same command from an account that may read the drive; or unmount the stick, let the operating system check it (the disk program of the desktop, fsck.fat -a, chkdsk /f), which empties one of the two, and run the same command again. Where such a check finds nothing, accept this.',
    source: 'Linux, fs/fat/namei_vfat.c: a rename makes the new entry before it takes the old one away; tried with it',
  }),
  'stick/eject-due': define<Record<string, never>>({
    severity: 'unproven',
    title: 'It may not be on the stick yet',
    seen: () => 'This computer may still hold some of it in its memory, and could not be made to write it down.',
    why: 'Pulled now, the stick may hold empty or old files, whatever is shown here.',
    todo: 'Eject the stick, wait until the system says that it can be pulled, plug it in again, and verify it.',
    source:
      'Linux, fs/fat/namei_vfat.c: a moved file has a new entry of 0 bytes until it is synced; fsync(2), syncfs(2)',
  }),
  'stick/needs-repair': define<{ codes: readonly string[] }>({
    severity: 'caution',
    title: 'The volume should be repaired',
    seen: ({ codes }) => `Its tables or folders are damaged: ${listInWords(codes)}.`,
    why: 'What was pulled in the middle of a write leaves this; a panel may say that the stick needs repair.',
    todo: ({ codes }) =>
      `When the stick is done, ${codes.includes('medium/cross-linked') ? 'copy what you need off it first, since a repair cuts one of two names that share a place; then ' : ''}let the operating system repair it (fsck, chkdsk, First Aid) and verify it again; or format it and start anew.`,
    source: 'Microsoft FAT specification 1.03; each code says its own',
  }),
  'stick/read-only': define<{ by: ReadOnlyBy }>({
    severity: 'stop',
    noOverride: true,
    title: 'The stick cannot be written',
    seen: ({ by }) => readOnlyInWords[by].seen,
    why: 'Nothing can be prepared on it.',
    todo: ({ by }) => readOnlyInWords[by].todo,
    source: 'Linux, Documentation/filesystems/vfat.rst (errors=remount-ro); otherwise common practice, no source',
  }),
  'stick/mount-inside': define<Paths>({
    severity: 'stop',
    noOverride: true,
    title: 'Something else is mounted inside the stick',
    seen: ({ paths }) => `At ${listInWords(paths)}.`,
    why: 'It hides what the stick itself holds there, which a panel will find; and nothing outside the stick is ever read or changed.',
    todo: 'Unmount it (on Linux: umount and that folder; on Windows: Disk Management, remove the drive path), then run the same command again.',
    source: 'Linux: proc_pid_mountinfo(5); Windows: reparse points; common practice, no source',
  }),
  'stick/slow': define<{ bytes: number; ms: number }>({
    severity: 'caution',
    title: 'The stick is very slow',
    seen: ({ bytes, ms }) =>
      `It took ${sizeInWords(bytes)} in ${Math.round(ms / 1000).toLocaleString('en-US')} s: ${roundedSize((bytes * 1000) / ms)}/s. Cheap sticks take 4 to 15 MB/s.`,
    why: 'A hub, a port of the oldest kind or flash that wears out is mostly the cause; and a panel does not wait for ever.',
    todo: 'Try another port without a hub next time. If this stick stays slow, prove it with `stickwright prove`, which erases it, or retire it.',
    source: 'USB 2.0 specification: full speed carries about 1 MB/s (from memory); rates of sticks: from memory',
  }),
  'stick/not-a-removable-drive': define<{ where: string }>({
    severity: 'stop',
    title: 'This is not a removable USB drive',
    seen: ({ where }) =>
      `${where} is not on a drive that is both removable and USB, as far as the operating system tells.`,
    why: 'Writing to the wrong drive can cost the data on it.',
    todo: 'Check the target. If you mean it, run it again with --yes: it is then a caution.',
    source: 'common practice, no source',
  }),
  'stick/drives-not-listed': define<{ reason: string }>({
    severity: 'stop',
    title: 'It could not be asked whether this is a USB stick',
    seen: ({ reason }) => `The list of drives failed: ${reason}.`,
    why: 'Writing to the wrong drive can cost the data on it.',
    todo: 'Pull other drives, as one that hangs holds the list up, and run the same command again. If you are sure of this stick, run it with --yes: it is then a caution.',
    source: 'common practice, no source',
  }),
  'stick/drives-not-listed-agreed': define<{ reason: string }>({
    severity: 'caution',
    title: 'It could not be asked whether this is a USB stick; it was agreed to',
    seen: ({ reason }) => `The list of drives failed: ${reason}.`,
    why: 'Nobody but you said that this is the stick that you mean.',
    todo: 'Look whether the files are on the stick in your hand, then plug it in again and verify it.',
    source: 'common practice, no source',
  }),
  'stick/not-a-removable-drive-agreed': define<{ where: string }>({
    severity: 'caution',
    title: 'Not a removable USB drive, as agreed',
    seen: ({ where }) =>
      `${where} is not on a drive that is both removable and USB, as far as the operating system tells.`,
    why: 'A folder is no stick: what is here still has to be brought to one.',
    todo: 'Prepare the real stick with the same command, or copy this and verify the copy.',
    source: 'common practice, no source',
  }),
};

const chooseLeftovers =
  'Look at the list. Run it again with --leftovers set-aside to move these into a dated folder on the stick, or with --leftovers remove to delete them.';

/** Findings of the area `stick/` about what lies on a stick already. */
export const stickContentsFindings = {
  'stick/other-firmware': define<Paths>({
    severity: 'stop',
    title: 'Other firmware is on the stick',
    seen: ({ paths }) => `At the root: ${listInWords(paths)}.`,
    why: 'The panel may take the wrong one, or none.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/firmware-inside': define<{ found: readonly { path: string; sign: string }[] }>({
    severity: 'stop',
    title: 'Firmware lies where nobody expects it',
    seen: ({ found }) =>
      `In folders of other things: ${listInWords(found.map(({ path, sign }) => `${path} (${sign})`))}.`,
    why: 'A panel that looks into folders may take it instead.',
    todo: chooseLeftovers,
    source:
      'AOSP OTA tools and recovery (what a package holds); that panels look into folders: common practice, no source',
  }),
  'stick/firmware-set-aside': define<Paths>({
    severity: 'caution',
    title: 'Firmware that was set aside stays on the stick',
    seen: ({ paths }) => `Under names that no updater lists: ${listInWords(paths)}.`,
    why: 'A panel that looks into every file could still find it.',
    todo: 'Move it to the desk when it is convenient; its own name is the one without the ending .set-aside.',
    source: 'common practice, no source',
  }),
  'stick/not-looked-into': define<Paths>({
    severity: 'unproven',
    title: 'Not everything on the stick could be looked into',
    seen: ({ paths }) =>
      `${countInWords(paths.length, 'file')}: ${listInWords(paths)}. Archives are followed three deep, and 10,000 files or 256 MiB on one stick.`,
    why: 'Other firmware in it would not have been seen.',
    todo: 'Move these to the desk, or use an empty stick.',
    source: 'README, "Limits"',
  }),
  'stick/earlier-preparation': define<Paths & { label: string; archive: string; mode: Mode }>({
    severity: 'stop',
    title: 'The stick is prepared for something else',
    seen: ({ label, archive, mode, paths }) =>
      `It was prepared for "${label}" from ${archive}, mode ${mode}: ${listInWords(paths)}.`,
    why: 'Somebody may be about to walk with it; and two packages on one stick confuse the panel.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/other-label-before': define<{ label: string; stickCode: string }>({
    severity: 'caution',
    title: 'The stick is tagged for another panel',
    seen: ({ label, stickCode }) => `Stick ${stickCode} was prepared for "${label}".`,
    why: 'Somebody may be about to walk with it.',
    todo: 'Ask, and write a new tag.',
    source: 'common practice, no source',
  }),
  'stick/extra-in-firmware-folder': define<Paths>({
    severity: 'stop',
    noOverride: true,
    title: 'Files that are not part of this firmware lie in its folders',
    seen: ({ paths }) => `Not in the archive: ${listInWords(paths)}.`,
    why: 'The panel may take parts of another build together with this one.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/hidden-twins': define<Paths>({
    severity: 'stop',
    title: 'Hidden twins whose names begin with ._',
    seen: ({ paths }) => `Left by macOS: ${listInWords(paths)}.`,
    why: 'Such a twin sorts before the real file; a panel that opens it aborts the update.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/name-taken': define<Paths>({
    severity: 'stop',
    noOverride: true,
    title: 'Something else has a name that the firmware needs',
    seen: ({ paths }) => `Of other content: ${listInWords(paths)}.`,
    why: 'The panel would read that instead.',
    todo: chooseLeftovers,
    source: 'common practice, no source',
  }),
  'stick/root-not-empty': define<Paths>({
    severity: 'stop',
    title: 'This panel wants nothing else at the root',
    seen: ({ paths }) => `Also at the root: ${listInWords(paths)}.`,
    why: 'The panel refuses the stick.',
    todo: 'Keep what you need elsewhere, then run it again with --leftovers remove, or use an empty stick.',
    source: 'The family file',
  }),
  'stick/system-junk': define<Paths>({
    severity: 'note',
    title: 'Files that desktop systems leave',
    seen: ({ paths }) => `Desktop systems left ${listInWords(paths)}; they stay.`,
    why: 'Most panels do not mind them.',
    todo: 'Nothing. If the panel says that the stick must be empty, take a freshly formatted one.',
    source: 'common practice, no source',
  }),
  'stick/has-been-in-a-panel': define<Paths>({
    severity: 'note',
    title: 'The stick has been in a panel',
    seen: ({ paths }) => `A panel left: ${listInWords(paths)}; it stays.`,
    why: 'It may hold what a panel saved there.',
    todo: 'Ask whether anybody needs it; a fresh stick for each job is the better habit.',
    source: 'AOSP vold, Vfat.cpp (LOST.DIR)',
  }),
  'stick/unfinished': define<{ good: number; rest: number }>({
    severity: 'note',
    title: 'An unfinished preparation is on the stick',
    seen: ({ good, rest }) =>
      `An unfinished preparation: ${countInWords(good, 'file is', 'files are')} already right; ${countInWords(rest, 'file is', 'files are')} still to write.`,
    why: 'A stick in this state is not ready; this run finishes it.',
    todo: 'Nothing: go on.',
    source: 'common practice, no source',
  }),
  'stick/damaged-since': define<Paths>({
    severity: 'note',
    title: 'Files changed since this stick was prepared',
    seen: ({ paths }) => `No longer what was written: ${listInWords(paths)}; they are written anew.`,
    why: 'A stick that changes by itself may be worn out.',
    todo: 'If it happens again, retire the stick.',
    source: 'common practice, no source',
  }),
  'stick/manifest-broken': define<{ problem: string }>({
    severity: 'caution',
    title: 'The manifest of an earlier preparation cannot be read',
    seen: ({ problem }) => `${problem}.`,
    why: 'What was on this stick cannot be told from it.',
    todo: 'Nothing if you are preparing it anew: the manifest is replaced.',
    source: 'common practice, no source',
  }),
  'stick/links': define<Paths>({
    severity: 'unproven',
    title: 'Symbolic links on the stick',
    seen: ({ paths }) =>
      `They lead somewhere else and hold nothing themselves: ${listInWords(paths)}. None was followed.`,
    why: 'Another reader may follow them, to firmware under a second name or to nothing; FAT and exFAT, which panels take, have no links.',
    todo: 'Copy what is wanted to where the link is, or move the link away; then run the same command again.',
    source: 'POSIX.1-2017, symlink(); common practice, no source',
  }),
  'stick/special-files': define<Paths>({
    severity: 'unproven',
    title: 'Neither files nor folders on the stick',
    seen: ({ paths }) => `Pipes, sockets or devices by name: ${listInWords(paths)}. None was opened.`,
    why: 'No panel and no desk makes such things on a stick; what a panel does when it meets one, nobody can say.',
    todo: 'Move them away, or format the stick with `stickwright format`, which erases it; then run the same command again.',
    source: 'common practice, no source',
  }),
  'stick/unreadable-names': define<Paths>({
    severity: 'unproven',
    title: 'Names that cannot be read',
    seen: ({ paths }) =>
      `Their bytes are no UTF-8 text, so nothing can be opened by them: ${listInWords(paths)}. What they hold was not looked at.`,
    why: 'The stick is mounted with another character set, or the names are damaged; a panel may find firmware there that nobody has checked.',
    todo: 'Mount the stick with UTF-8 names (on Linux: the option utf8 or iocharset=utf8), or unmount it and give the drive itself; then run the same command again.',
    source: 'RFC 3629; Linux: Documentation/filesystems/vfat.rst',
  }),
};
