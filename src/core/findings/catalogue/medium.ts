import { define } from '../../model/catalogue-entry.ts';
import { countInWords, listInWords, sizeInWords } from '../../text/words.ts';
import type { Examples, FlawDetails, SharedPlace } from '../../volume-format/audit/flaw.ts';
import { proveFindings } from './prove.ts';
import { fileSystemInWords } from './stick.ts';

const uefi = 'UEFI specification 2.10';
const formatTable =
  'Save what you need from the stick, then format it with `stickwright format`, which erases it and writes a clean table.';
const notSeen = 'A boot loader that checks the table says "bad partition" or sees no stick at all.';
const entry = <Kind extends keyof FlawDetails>() => define<FlawDetails[Kind]>;
const hex = (byte: number): string => byte.toString(16).toUpperCase().padStart(2, '0');

/** About the medium as a whole and its partition table. */
const mediumTableFindings = {
  'medium/unreadable-sectors': entry<'unreadable-sectors'>()({
    severity: 'stop',
    title: 'Parts of the stick cannot be read',
    seen: ({ sectors, firstSector }) =>
      `${countInWords(sectors, 'sector')} of those looked at, the first at sector ${firstSector.toLocaleString('en-US')}.`,
    why: 'The panel meets the same errors in the middle of the update.',
    todo: 'Plug it in at another port, without a hub, and run the same command again. If it still cannot be read, retire the stick.',
    source: 'common practice, no source',
  }),
  'medium/nothing-recognised': entry<'nothing-recognised'>()({
    severity: 'stop',
    title: 'Nothing on the stick can be recognised',
    seen: () => 'There is neither a partition table nor a file system.',
    why: 'The panel sees no stick, or offers to format it; nobody should ever tap that.',
    todo: formatTable,
    source: 'common practice, no source',
  }),
  'medium/boot-byte-invalid': entry<'boot-byte-invalid'>()({
    severity: 'stop',
    title: 'A boot byte in the partition table is wrong',
    seen: (facts) => `Entry ${facts.entry} has ${hex(facts.value)}; only 00 and 80 are defined.`,
    why: notSeen,
    todo: formatTable,
    source: 'U-Boot, disk/part_dos.c: boot indicator 00 or 80',
  }),
  'medium/partition-without-place': entry<'partition-without-place'>()({
    severity: 'stop',
    title: 'An entry of the partition table is half empty',
    seen: (facts) => `Entry ${facts.entry} has no type, no place or no size.`,
    why: notSeen,
    todo: formatTable,
    source: `${uefi}, section 5.2.1`,
  }),
  'medium/partition-past-end': entry<'partition-past-end'>()({
    severity: 'stop',
    title: 'A partition ends past the end of the stick',
    seen: (facts) =>
      `Entry ${facts.entry} ends at ${sizeInWords(facts.endByte)}; the stick has ${sizeInWords(facts.mediumBytes)}.`,
    why: 'Writes past the end are lost. An image of a larger stick was written here, or the capacity is false.',
    todo: `${formatTable} Then prove its capacity with \`stickwright prove\`.`,
    source: `${uefi}, section 5.2.1`,
  }),
  'medium/partitions-overlap': entry<'partitions-overlap'>()({
    severity: 'stop',
    title: 'Partitions overlap',
    seen: (facts) => `Entry ${facts.entry} overlaps entry ${facts.other}.`,
    why: 'Writing into one damages the other.',
    todo: formatTable,
    source: `${uefi}, section 5.2.1`,
  }),
  'medium/partition-type-not-mounted': entry<'partition-type-not-mounted'>()({
    severity: 'stop',
    title: "The panel's OS does not mount this type of partition",
    seen: (facts) => `Entry ${facts.entry} has the type byte ${hex(facts.type)}; 06, 07, 0B, 0C and 0E are mounted.`,
    why: 'The stick does not show up in the OS, however sound its files are.',
    todo: formatTable,
    source: 'AOSP vold, Disk.cpp',
  }),
  'medium/partition-type-not-mounted-at-boot': entry<'partition-type-not-mounted'>()({
    severity: 'caution',
    title: 'The partition has an unusual type byte',
    seen: (facts) => `Entry ${facts.entry} has the type byte ${hex(facts.type)}; 0B or 0C is usual for FAT32.`,
    why: 'Boot loaders mostly look at the volume itself; some go by the type.',
    todo: 'Format it with `stickwright format`, which erases it, or take one along that worked at such a panel.',
    source: 'common practice, no source',
  }),
  'medium/partition-type-misleading': entry<'partition-type-misleading'>()({
    severity: 'caution',
    title: 'The partition table names another file system than there is',
    seen: (facts) =>
      `Entry ${facts.entry} has the type byte ${hex(facts.type)}, but the volume is ${fileSystemInWords(facts.fileSystem)}.`,
    why: 'A reader that goes by the type byte uses the wrong driver.',
    todo: formatTable,
    source: 'common practice, no source',
  }),
  'medium/extended-partition': entry<'extended-partition'>()({
    severity: 'stop',
    title: 'The stick has logical drives',
    seen: (facts) => `Entry ${facts.entry} is a container for further partitions.`,
    why: 'Boot loaders want exactly one plain partition.',
    todo: formatTable,
    source: 'common practice, no source',
  }),
  'medium/extended-partition-for-os': entry<'extended-partition'>()({
    severity: 'caution',
    title: 'The stick has logical drives',
    seen: (facts) => `Entry ${facts.entry} is a container for further partitions.`,
    why: 'The OS may show several volumes, and someone may pick the wrong one.',
    todo: 'Use a stick with one partition.',
    source: 'common practice, no source',
  }),
  'medium/hybrid-table': entry<'hybrid-table'>()({
    severity: 'stop',
    title: 'Two partition tables contradict each other',
    seen: () => 'The MBR lists partitions of its own beside the entry that stands for a GPT.',
    why: 'One reader goes by the one table, the next by the other.',
    todo: formatTable,
    source: `${uefi}, section 5.2.3`,
  }),
  'medium/gpt-leftover': entry<'gpt-leftover'>()({
    severity: 'stop',
    title: 'The rest of an old GPT is still on the stick',
    seen: ({ where }) => `An old GPT header stands at the ${where === 'both' ? 'start and at the end' : where}.`,
    why: 'A boot loader that finds it goes by the old table and sees no file.',
    todo: formatTable,
    source: `${uefi}, section 5.3; common practice`,
  }),
  'medium/gpt-leftover-for-os': entry<'gpt-leftover'>()({
    severity: 'caution',
    title: 'The rest of an old GPT is still on the stick',
    seen: ({ where }) => `An old GPT header stands at the ${where === 'both' ? 'start and at the end' : where}.`,
    why: 'The OS goes by the MBR; a repair tool or a boot loader may go by the old table.',
    todo: 'Do not use this stick for recovery until it was formatted with `stickwright format`, which erases it.',
    source: `${uefi}, section 5.3; common practice`,
  }),
  'medium/gpt-missing': entry<'gpt-missing'>()({
    severity: 'stop',
    title: 'The MBR points to a GPT that is not there',
    seen: () => 'There is an entry of type EE and no GPT header behind it.',
    why: 'The panel sees no partition.',
    todo: formatTable,
    source: `${uefi}, section 5.2.3`,
  }),
  'medium/gpt-header-damaged': entry<'gpt-header-damaged'>()({
    severity: 'stop',
    title: 'The GPT header is damaged',
    seen: ({ problem }) => `The header ${problem}.`,
    why: 'Strict readers refuse the whole stick.',
    todo: formatTable,
    source: `${uefi}, section 5.3.2`,
  }),
  'medium/gpt-entries-damaged': entry<'gpt-entries-damaged'>()({
    severity: 'stop',
    title: 'The list of GPT partitions is damaged',
    seen: () => 'It does not match the checksum in the header.',
    why: 'Strict readers refuse the whole stick.',
    todo: formatTable,
    source: `${uefi}, section 5.3.3`,
  }),
  'medium/gpt-backup-damaged': entry<'gpt-backup-damaged'>()({
    severity: 'caution',
    title: 'The second copy of the GPT is not right',
    seen: ({ problem }) => `It ${problem}.`,
    why: 'An image of a smaller stick was written here, or the end was overwritten; strict readers complain.',
    todo: formatTable,
    source: `${uefi}, section 5.3.2`,
  }),
  'medium/gpt-entry-invalid': entry<'gpt-entry-invalid'>()({
    severity: 'stop',
    title: 'A GPT partition is not sound',
    seen: (facts) => `Entry ${facts.entry} ${facts.problem}.`,
    why: notSeen,
    todo: formatTable,
    source: `${uefi}, section 5.3.3`,
  }),
};

/** Words that several findings about a medium share. */
const fatSpec = 'Microsoft FAT specification 1.03';
const exfatSpec = 'Microsoft exFAT specification';
const inBoth = (inFat: string, inExfat: string): string => `${fatSpec}, ${inFat}; ${exfatSpec}, ${inExfat}`;

const formatIt =
  'Save what you need from the stick, then format it with `stickwright format`; formatting erases it. If it comes back, retire the stick.';

const repairOrFormat =
  "Repair it with the operating system's own check (fsck, chkdsk, First Aid), or format it with `stickwright format`, which erases it; then prepare it again.";

const panelReadsOther = 'The panel may read another file than the one that was written, or stop in the middle.';

export const several = ({ count, paths }: Examples, one: string, many: string): string =>
  `${countInWords(count, one, many)}: ${listInWords(paths)}.`;

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** An entry whose facts are the details of a flaw. */
const entryFor = <Kind extends keyof FlawDetails>() => define<FlawDetails[Kind]>;

/** About the boot sector, its copy and the note of free space. */
const mediumBootFindings = {
  'medium/volume-past-partition': entryFor<'volume-past-partition'>()({
    severity: 'stop',
    title: 'The volume is larger than its place',
    seen: ({ statedBytes, bytes }) =>
      `The file system states ${sizeInWords(statedBytes)}; there are ${sizeInWords(bytes)}.`,
    why: 'What lies past the end cannot be read. An image was cut short, or the stick is smaller than it once said.',
    todo: 'Save what you need. Then prove its capacity with `stickwright prove` and format it with `stickwright format`, before you trust it; both erase it.',
    source: `${fatSpec}, BPB_TotSec32`,
  }),
  'medium/volume-smaller-than-partition': entryFor<'volume-smaller-than-partition'>()({
    severity: 'note',
    title: 'The volume does not fill its place',
    seen: ({ statedBytes, bytes }) =>
      `The file system uses ${sizeInWords(statedBytes)} of ${sizeInWords(bytes)}: an image of a smaller stick was written here.`,
    why: 'The rest cannot be used; a panel does not mind.',
    todo: 'Nothing. To use it whole, format it with `stickwright format`, which erases it.',
    source: 'common practice, no source',
  }),
  'medium/hidden-sectors-differ': entryFor<'hidden-sectors-differ'>()({
    severity: 'note',
    title: 'The boot sector states another place than its own',
    seen: ({ stated, actual }) => `It states ${stated} sectors before the volume; there are ${actual}.`,
    why: 'Only code that starts from the stick goes by this number; panels do not.',
    todo: 'Nothing.',
    source: `${fatSpec}, BPB_HiddSec`,
  }),
  'medium/boot-sector-damaged': entryFor<'boot-sector-damaged'>()({
    severity: 'stop',
    title: 'The boot sector cannot be used',
    seen: ({ problem }) => `Of the volume's first sector: ${problem}.`,
    why: 'The panel sees no volume, and may offer to format the stick.',
    todo: formatIt,
    source: `${fatSpec}, "Boot Sector and BPB"`,
  }),
  'medium/boot-jump-missing': entryFor<'boot-jump-missing'>()({
    severity: 'stop',
    title: 'The boot sector does not begin as it must',
    seen: () => 'Its first three bytes are none of the two jumps that the specification names.',
    why: 'Careful readers take it for no FAT volume.',
    todo: formatIt,
    source: `${fatSpec}, BS_jmpBoot`,
  }),
  'medium/type-text-missing': entryFor<'type-text-missing'>()({
    severity: 'stop',
    title: 'The boot sector does not name its file system',
    seen: ({ text, at, wanted }) => `At byte ${at} stands "${text}" instead of "${wanted}".`,
    why: 'A boot loader that goes by this text says that there is no valid FAT.',
    todo: formatIt,
    source: 'U-Boot, fs/fat: the file system type is compared with "FAT12   ", "FAT16   " and "FAT32   "',
  }),
  'medium/type-text-missing-for-os': entryFor<'type-text-missing'>()({
    severity: 'caution',
    title: 'The boot sector does not name its file system',
    seen: ({ text, at, wanted }) => `At byte ${at} stands "${text}" instead of "${wanted}".`,
    why: 'The OS goes by the cluster count and does not mind; a boot loader does.',
    todo: 'Do not use this stick for recovery until it was formatted with `stickwright format`, which erases it.',
    source: `${fatSpec}, BS_FilSysType; U-Boot, fs/fat`,
  }),
  'medium/media-byte-differs': entryFor<'media-byte-differs'>()({
    severity: 'stop',
    title: 'The medium byte is not the same in both places',
    seen: ({ stated, table }) =>
      `The boot sector has ${hex(stated)}, the allocation table ${hex(table)}; F8 in both is usual for sticks.`,
    why: 'Something wrote over one of them; careful readers, mtools and Linux among them, refuse the volume.',
    todo: repairOrFormat,
    source: `${fatSpec}, BPB_Media and "FAT Data Structure"`,
  }),
  'medium/backup-boot-missing': entryFor<'backup-boot-missing'>()({
    severity: 'caution',
    title: 'There is no copy of the boot sector',
    seen: ({ problem }) => `${capital(problem)}.`,
    why: 'If the first sector is damaged, nothing can repair the volume.',
    todo: 'Format it with `stickwright format` when you can spare what is on it: that erases it.',
    source: `${fatSpec}, BPB_BkBootSec`,
  }),
  'medium/backup-boot-differs': entryFor<'backup-boot-differs'>()({
    severity: 'caution',
    title: 'The boot sector and its copy differ',
    seen: ({ bytes }) => `${countInWords(bytes, 'byte differs', 'bytes differ')}.`,
    why: 'One of the two was damaged, or written by a tool that forgot the other. A repair may take the wrong one.',
    todo: repairOrFormat,
    source: `${fatSpec}, BPB_BkBootSec`,
  }),
  'medium/fsinfo-missing': entryFor<'fsinfo-missing'>()({
    severity: 'caution',
    title: 'The note of free space is missing',
    seen: ({ problem }) => `Of the FSInfo sector: ${problem}.`,
    why: 'Readers count for themselves, which takes long on a large stick; some refuse the volume.',
    todo: repairOrFormat,
    source: `${fatSpec}, "FSInfo Sector Structure"`,
  }),
  'medium/fsinfo-free-wrong': entryFor<'fsinfo-free-wrong'>()({
    severity: 'caution',
    title: 'The note of free space is wrong',
    seen: ({ stated, counted }) =>
      `It states ${countInWords(stated, 'free cluster')}; there are ${counted.toLocaleString('en-US')}.`,
    why: 'A device that believes it says "disk full" with space free, or writes where there is none.',
    todo: repairOrFormat,
    source: `${fatSpec}, FSI_Free_Count`,
  }),
  'medium/fsinfo-next-invalid': entryFor<'fsinfo-next-invalid'>()({
    severity: 'note',
    title: 'The note of where to look for free space is wrong',
    seen: ({ stated }) => `It names cluster ${stated}, which does not exist.`,
    why: 'It is a hint only.',
    todo: 'Nothing.',
    source: `${fatSpec}, FSI_Nxt_Free`,
  }),
  'medium/errors-recorded': entryFor<'errors-recorded'>()({
    severity: 'stop',
    title: 'A device met errors on this stick',
    seen: () => 'The volume carries the mark that a read or a write failed.',
    why: 'Worn flash fails again, mostly at the panel.',
    todo: 'Retire the stick. If you want to be sure, prove it with `stickwright prove`, which erases it.',
    source: `${fatSpec}, HrdErrBitMask`,
  }),
};

/** About the allocation table and the chains in it. */
const mediumChainFindings = {
  'medium/mirroring-off': entryFor<'mirroring-off'>()({
    severity: 'stop',
    title: 'Only one copy of the allocation table is kept',
    seen: ({ active }) => `The boot sector says that only copy ${active + 1} is kept up to date.`,
    why: 'Simple readers take the first copy whatever it says, and find old content.',
    todo: formatIt,
    source: `${fatSpec}, BPB_ExtFlags`,
  }),
  'medium/marked-in-table': entryFor<'marked-in-table'>()({
    severity: 'stop',
    title: 'The allocation table says that the stick is in use',
    seen: () => 'A FAT16 volume was pulled without being ejected, and its table carries the mark of that.',
    why: 'Careful readers do not open such a volume at all (mtools does not): a panel may find nothing on the stick.',
    todo: 'Let the operating system check and repair it (fsck, chkdsk, First Aid), eject it, plug it in and run the same command again. At the panel never tap “Format”.',
    source: `${fatSpec}, "FAT Data Structure" (ClnShutBitMask); tried with mtools 4.0.32`,
  }),
  'medium/fat-start-wrong': entryFor<'fat-start-wrong'>()({
    severity: 'stop',
    title: 'The allocation table does not begin as it must',
    seen: () => 'Its two leading entries are not what every formatter writes.',
    why: 'Something wrote over the start of the table; careful readers refuse the volume.',
    todo: repairOrFormat,
    source: `${fatSpec}, "FAT Data Structure"`,
  }),
  'medium/fat-copies-differ': entryFor<'fat-copies-differ'>()({
    severity: 'stop',
    title: 'The two allocation tables differ',
    seen: ({ entries }) => `${countInWords(entries, 'entry differs', 'entries differ')}.`,
    why: `It was pulled in the middle of a write, or the flash is failing. ${panelReadsOther}`,
    todo: repairOrFormat,
    source: `${fatSpec}, BPB_NumFATs`,
  }),
  'medium/fat-entries-invalid': entryFor<'fat-entries-invalid'>()({
    severity: 'stop',
    title: 'The allocation table points outside the volume',
    seen: ({ count }) => `${countInWords(count, 'entry does', 'entries do')}.`,
    why: panelReadsOther,
    todo: repairOrFormat,
    source: `${fatSpec}, "FAT Data Structure"`,
  }),
  'medium/bad-clusters': entryFor<'bad-clusters'>()({
    severity: 'caution',
    title: 'Places on the stick are marked as bad',
    seen: ({ count }) => `${countInWords(count, 'cluster')}.`,
    why: 'A stick that has begun to fail goes on failing.',
    todo: 'Take another stick for this job, and retire this one.',
    source: `${fatSpec}, "FAT Data Structure"`,
  }),
  'medium/lost-clusters': entryFor<'lost-clusters'>()({
    severity: 'caution',
    title: 'Space is taken that belongs to no file',
    seen: ({ clusters, bytes }) => `${countInWords(clusters, 'cluster')}, ${sizeInWords(bytes)}.`,
    why: 'It was pulled in the middle of a write; what was written then is not there as a file.',
    todo: repairOrFormat,
    source: `${fatSpec}; common practice: every disk check looks for it`,
  }),
  'medium/cross-linked': entryFor<'cross-linked'>()({
    severity: 'stop',
    title: 'Files share the same place',
    seen: (facts) => several(facts, 'name leads into space of another', 'names lead into space of others'),
    why: `At least one of them is not what it says. ${panelReadsOther}`,
    todo: formatIt,
    source: `${fatSpec}; common practice: every disk check looks for it`,
  }),
  'medium/chain-loops': entryFor<'chain-loops'>()({
    severity: 'stop',
    title: 'A file runs in a circle',
    seen: (facts) => several(facts, 'name', 'names'),
    why: 'A simple reader never comes to its end and hangs.',
    todo: formatIt,
    source: `${fatSpec}; common practice: every disk check looks for it`,
  }),
  'medium/chain-broken': entryFor<'chain-broken'>()({
    severity: 'stop',
    title: 'A file breaks off',
    seen: (facts) => several(facts, 'name runs into free or bad space', 'names run into free or bad space'),
    why: panelReadsOther,
    todo: formatIt,
    source: inBoth('"FAT Data Structure"', 'section 4.1'),
  }),
  'medium/chain-short': entryFor<'chain-short'>()({
    severity: 'stop',
    title: 'A file is longer than its space',
    seen: (facts) => several(facts, 'file', 'files'),
    why: 'Its end is missing; the panel reports a damaged file or reads something else.',
    todo: formatIt,
    source: inBoth('DIR_FileSize', 'section 7.6.7'),
  }),
  'medium/chain-long': entryFor<'chain-long'>()({
    severity: 'caution',
    title: 'A file has more space than it is long',
    seen: (facts) => several(facts, 'file', 'files'),
    why: 'It was pulled while it was being written, or something shortened it afterwards.',
    todo: repairOrFormat,
    source: inBoth('DIR_FileSize', 'section 7.6.7'),
  }),
  'medium/start-cluster-invalid': entryFor<'start-cluster-invalid'>()({
    severity: 'stop',
    title: 'A name leads nowhere',
    seen: (facts) => several(facts, 'name starts outside the volume', 'names start outside the volume'),
    why: panelReadsOther,
    todo: formatIt,
    source: inBoth('DIR_FstClusLO', 'section 6.2.2'),
  }),
};

/** About folders and names. */
const mediumFolderFindings = {
  'medium/root-damaged': entryFor<'root-damaged'>()({
    severity: 'stop',
    title: 'The root folder is damaged',
    seen: ({ problem }) => `${capital(problem)}.`,
    why: 'The panel sees some of the files, or none; some systems do not open such a stick at all.',
    todo: repairOrFormat,
    source: `${fatSpec}, BPB_RootClus`,
  }),
  'medium/folder-damaged': entryFor<'folder-damaged'>()({
    severity: 'stop',
    title: 'A folder is damaged',
    seen: (facts) =>
      several(
        facts,
        'folder lacks its own first slots, or has a length that it cannot have',
        'folders lack their own first slots, or have a length that they cannot have',
      ),
    why: 'The panel may not find what lies in it.',
    todo: formatIt,
    source: inBoth('section 6.5', 'section 7.6.7'),
  }),
  'medium/folder-states-size': entryFor<'folder-states-size'>()({
    severity: 'caution',
    title: 'A folder states a size',
    seen: (facts) => several(facts, 'folder', 'folders'),
    why: 'Folders have none; something wrote over the slot.',
    todo: repairOrFormat,
    source: `${fatSpec}, DIR_FileSize`,
  }),
  'medium/name-invalid': entryFor<'name-invalid'>()({
    severity: 'stop',
    title: 'A name holds what no name may hold',
    seen: (facts) => several(facts, 'name', 'names'),
    why: 'Something wrote over the folder. The panel may stop at it, or list nonsense.',
    todo: formatIt,
    source: inBoth('"Short Directory Entries"', 'section 7.7.3'),
  }),
  'medium/name-duplicate': entryFor<'name-duplicate'>()({
    severity: 'stop',
    title: 'Two things have the same name',
    seen: (facts) => several(facts, 'name is there twice', 'names are there twice'),
    why: 'The panel takes one of them, and nobody knows which.',
    todo: formatIt,
    source: inBoth('"Short Directory Entries"', 'section 7.7'),
  }),
  'medium/long-name-orphan': entryFor<'long-name-orphan'>()({
    severity: 'caution',
    title: 'Rests of long names belong to nothing',
    seen: (facts) => several(facts, 'folder holds some', 'folders hold some'),
    why: 'A device without long names changed the folder; a panel may show a wrong name.',
    todo: repairOrFormat,
    source: `${fatSpec}, "Long Directory Entries"`,
  }),
  'medium/slot-damaged': entryFor<'slot-damaged'>()({
    severity: 'caution',
    title: 'A directory slot holds what it must not',
    seen: (facts) => several(facts, 'folder has such slots', 'folders have such slots'),
    why: 'Something wrote over the folder; a panel may list nonsense or refuse the volume.',
    todo: repairOrFormat,
    source: inBoth('"Long Directory Entries" and ATTR_VOLUME_ID', 'sections 6.2 and 6.3.3'),
  }),
  'medium/names-after-end': entryFor<'names-after-end'>()({
    severity: 'stop',
    title: 'Names lie behind the end of a folder, and some readers see them',
    seen: (facts) => several(facts, 'folder', 'folders'),
    why: 'Linux reads on behind the end of a folder, others stop there: a panel may find an old build that this computer cannot show, and a repair may cut down firmware for it.',
    todo: formatIt,
    source: `${fatSpec}, DIR_Name[0]; Linux, fs/fat/dir.c`,
  }),
  'medium/slots-after-end': entryFor<'slots-after-end'>()({
    severity: 'caution',
    title: 'Something lies behind the end of a folder',
    seen: (facts) => several(facts, 'folder', 'folders'),
    why: 'It is deleted, and no name to any known reader; but a folder is empty behind its end.',
    todo: formatIt,
    source: inBoth('DIR_Name[0]', 'section 6.2.1'),
  }),
  'medium/stale-slots': entryFor<'stale-slots'>()({
    severity: 'note',
    title: 'Deleted files can still be seen in the root folder',
    seen: (facts) => several(facts, 'name', 'names'),
    why: 'A simple boot loader may take an old build that was deleted or overwritten in place.',
    todo: 'For recovery prefer a freshly formatted stick.',
    source: 'common practice, no source',
  }),
  'medium/several-labels': entryFor<'several-labels'>()({
    severity: 'caution',
    title: 'The volume has more than one name',
    seen: ({ paths }) => `Also: ${listInWords(paths)}.`,
    why: 'Something wrote over the root folder.',
    todo: repairOrFormat,
    source: `${fatSpec}, ATTR_VOLUME_ID`,
  }),
  'medium/labels-differ': entryFor<'labels-differ'>()({
    severity: 'note',
    title: 'The volume has one name in two spellings',
    seen: ({ bootSector, root }) =>
      root === undefined
        ? `The boot sector says "${bootSector}", the root folder names none.`
        : `The boot sector says "${bootSector}", the root folder "${root}".`,
    why: 'The root folder counts; it was renamed by a system that forgot the other.',
    todo: 'Nothing.',
    source: `${fatSpec}, BS_VolLab`,
  }),
  'medium/root-slots-few': entryFor<'root-slots-few'>()({
    severity: 'caution',
    title: 'The root folder is nearly full',
    seen: ({ free, of }) => `${countInWords(free, 'slot is', 'slots are')} free of ${of}; a long name takes several.`,
    why: 'Nothing more can be added at the root, however much space is free.',
    todo: 'Delete what is not needed, or format the stick as FAT32, whose root grows; formatting erases it.',
    source: `${fatSpec}, BPB_RootEntCnt`,
  }),
  'medium/too-much-to-check': entryFor<'too-much-to-check'>()({
    severity: 'unproven',
    title: 'There is more on the stick than can be checked',
    seen: ({ what }) => `The check stopped: ${what}.`,
    why: 'What was not looked at may be wrong.',
    todo: 'Use a freshly formatted stick.',
    source: 'common practice, no source',
  }),
};

const alike = 'Some panels would read it, others would find another name, other bytes or nothing.';
const writeAnew = `Prepare the stick again with the same command, which writes such files anew. If it is still there, format the stick with \`stickwright format\`, which erases it; if it comes back after that, retire the stick.`;

/**
 * About what leads to the firmware and to its record: there every bit counts, because every reader must come to the
 * same files.
 */
const mediumWayFindings = {
  'medium/way-damaged': entryFor<'way-damaged'>()({
    severity: 'stop',
    title: 'What leads to the firmware is damaged',
    seen: (facts) => several(facts, 'name', 'names'),
    why: `The table that says where it lies breaks off there, or leads into another file. ${alike} A repair program may cut it down.`,
    todo: formatIt,
    source: inBoth('"FAT Data Structure" and DIR_FstClusHI', 'sections 6.2.2 and 7.1.5'),
  }),
  'medium/way-tables-differ': entryFor<'way-tables-differ'>()({
    severity: 'stop',
    title: 'The two allocation tables lead to different places for the firmware',
    seen: (facts) => several(facts, 'name', 'names'),
    why: `It was pulled in the middle of a write, or the flash is failing; each panel goes by one of the tables. ${alike}`,
    todo: `${repairOrFormat} If it comes back, retire the stick.`,
    source: `${fatSpec}, BPB_NumFATs`,
  }),
  'medium/way-slot-odd': entryFor<'way-slot-odd'>()({
    severity: 'stop',
    title: 'Not every reader takes the name of the firmware alike',
    seen: (facts) =>
      several(facts, 'name has marks set that no system sets', 'names have marks set that no system sets'),
    why: `Something wrote over the folder, or the flash is failing. ${alike}`,
    todo: writeAnew,
    source: `${fatSpec}, "Directory Structure" and "Long Directory Entries"; seen in Linux, mtools and FatFs, which differ; ${exfatSpec}, sections 6.3.3 and 7.6`,
  }),
  'medium/way-marked-free': entryFor<'way-marked-free'>()({
    severity: 'stop',
    title: 'The space of the firmware is noted as free',
    seen: (facts) => several(facts, 'name lies there', 'names lie there'),
    why: 'It was pulled in the middle of a write. Whatever writes to it next, a panel too, may write over the firmware.',
    todo: writeAnew,
    source: `${exfatSpec}, section 7.1.5.1`,
  }),
  'medium/way-shared': entryFor<'way-shared'>()({
    severity: 'stop',
    title: 'The firmware and another file share their place',
    seen: (facts) => several(facts, 'name', 'names'),
    why: 'One of the two is not what it says, and whoever removes or writes anew the one takes the place of the other.',
    todo: 'First copy what you need off the stick, and look whether it is whole. Then format it with `stickwright format`, which erases it, and prepare it again.',
    source: `${exfatSpec}, section 7.1.5; common practice: every disk check looks for it`,
  }),
  'medium/place-shared': define<{
    readonly count: number;
    readonly pairs: readonly SharedPlace[];
    readonly whose: 'one-file' | 'several-files';
  }>({
    severity: 'stop',
    noOverride: true,
    title: 'Two names lead to one place on the stick',
    seen: ({ count, pairs }) => {
      const named = pairs.slice(0, 3).map(({ first, second }) => `${first} and ${second}`);
      const more = count - named.length;
      return `${listInWords([...named, ...(more > 0 ? [countInWords(more, 'more pair')] : [])])}.`;
    },
    why: 'A pull in the middle of a write leaves this. Whoever removes or writes the one, this preparation or a panel, takes away what lies behind the other.',
    todo: ({ whose }) =>
      whose === 'one-file'
        ? 'Copy one of the two to the computer if you need it. Then unmount the stick and let the operating system check it (fsck.fat -a, fsck.exfat -y, chkdsk /f): that leaves one name whole and empties the other. Then run the same command again; or format the stick with `stickwright format`, which erases it.'
        : 'Copy both to the computer and look whether they are whole. Then format the stick with `stickwright format`, which erases it, and run the same command again. A check (fsck, chkdsk) would cut one of the two, and does not know which.',
    source:
      'FAT specification 1.03 and exFAT specification, section 7.1.5; Linux, fs/fat/namei_vfat.c; tried with fsck.fat 4.2 and fsck.exfat 1.2.0; chkdsk from memory',
  }),
  'medium/firmware-hidden': entryFor<'firmware-hidden'>()({
    severity: 'stop',
    title: 'Firmware is marked as hidden or as part of a system',
    seen: (facts) => several(facts, 'name', 'names'),
    why: 'Panels that pass over hidden files do not find the firmware, and nobody sees it in an ordinary list.',
    todo: writeAnew,
    source: `${fatSpec}, ATTR_HIDDEN and ATTR_SYSTEM; mtools lists no hidden file; otherwise common practice, no source`,
  }),
};

/** About exFAT. */
const mediumExfatFindings = {
  'medium/exfat-boot-damaged': entryFor<'exfat-boot-damaged'>()({
    severity: 'stop',
    title: 'The exFAT boot sector cannot be used',
    seen: ({ problem }) => `${capital(problem)}.`,
    why: 'The panel sees no volume, and may offer to format the stick.',
    todo: formatIt,
    source: `${exfatSpec}, section 3.1`,
  }),
  'medium/exfat-checksum-wrong': entryFor<'exfat-checksum-wrong'>()({
    severity: 'stop',
    title: 'The exFAT boot region does not match its checksum',
    seen: () => 'The twelfth sector does not repeat the checksum of the eleven before it.',
    why: 'The panel refuses the volume.',
    todo: formatIt,
    source: `${exfatSpec}, section 3.4`,
  }),
  'medium/exfat-backup-differs': entryFor<'exfat-backup-differs'>()({
    severity: 'caution',
    title: 'The copy of the exFAT boot region is not right',
    seen: ({ problem }) => `It ${problem}.`,
    why: 'If the first is damaged, nothing can repair the volume.',
    todo: repairOrFormat,
    source: `${exfatSpec}, section 3.2`,
  }),
  'medium/exfat-media-failure': entryFor<'exfat-media-failure'>()({
    severity: 'stop',
    title: 'A device met errors on this stick',
    seen: () => 'The volume carries the mark that a read or a write failed.',
    why: 'Worn flash fails again, mostly at the panel.',
    todo: 'Retire the stick. If you want to be sure, prove it with `stickwright prove`, which erases it.',
    source: `${exfatSpec}, section 3.1.13.3`,
  }),
  'medium/exfat-root-damaged': entryFor<'exfat-root-damaged'>()({
    severity: 'stop',
    title: 'The exFAT root folder is damaged',
    seen: ({ problem }) => `Of the root folder: ${problem}.`,
    why: 'The panel cannot mount the volume.',
    todo: formatIt,
    source: `${exfatSpec}, section 7.1`,
  }),
  'medium/exfat-upcase-damaged': entryFor<'exfat-upcase-damaged'>()({
    severity: 'stop',
    title: 'The table of capital letters is damaged',
    seen: ({ problem }) => `Of the up-case table: ${problem}.`,
    why: 'Names are looked for by it: some panels refuse the stick, others do not find a file that is there.',
    todo: formatIt,
    source: `${exfatSpec}, sections 7.2.2 and 7.2.5`,
  }),
  'medium/exfat-entries-damaged': entryFor<'exfat-entries-damaged'>()({
    severity: 'stop',
    title: 'Beside the firmware stands an entry that is damaged',
    seen: (facts) => several(facts, 'place', 'places'),
    why: 'Some readers list nothing of a folder with such an entry in it, and do not find the firmware either.',
    todo: repairOrFormat,
    source: `${exfatSpec}, sections 6.2 and 6.3.3; seen in exfat-fuse 1.3.0`,
  }),
  'medium/used-marked-free': entryFor<'used-marked-free'>()({
    severity: 'stop',
    title: 'Space that is in use is noted as free',
    seen: (facts) => several(facts, 'name lies there', 'names lie there'),
    why: 'It was pulled in the middle of a write. Whatever writes to it next writes over what lies there.',
    todo: 'First copy what you need off the stick. Then format it with `stickwright format`, which erases it, and prepare it again.',
    source: `${exfatSpec}, section 7.1.5.1`,
  }),
  'medium/exfat-percent-wrong': entryFor<'exfat-percent-wrong'>()({
    severity: 'note',
    title: 'The exFAT note of used space is wrong',
    seen: ({ stated, counted }) => `It states ${stated} percent; ${counted} are in use.`,
    why: 'It is a hint only.',
    todo: 'Nothing.',
    source: `${exfatSpec}, section 3.1.18`,
  }),
};

/** Findings of the area `medium/`: what the sectors say that no file system shows. */
export const mediumFindings = {
  ...mediumTableFindings,
  ...mediumBootFindings,
  ...mediumChainFindings,
  ...mediumFolderFindings,
  ...mediumWayFindings,
  ...mediumExfatFindings,
  ...proveFindings,
};
