import type { FlawDetails } from '../../volume-format/audit/flaw.ts';
import { define } from '../define.ts';
import { countInWords, sizeInWords } from '../words.ts';
import { fileSystemInWords } from './stick.ts';

const uefi = 'UEFI specification 2.10';
const formatIt =
  'Save what you need from the stick, then format it with `stickwright format`, which erases it and writes a clean table.';
const notSeen = 'A boot loader that checks the table says "bad partition" or sees no stick at all.';
const entry = <Kind extends keyof FlawDetails>() => define<FlawDetails[Kind]>;
const hex = (byte: number): string => byte.toString(16).toUpperCase().padStart(2, '0');

/** About the medium as a whole and its partition table. */
export const mediumTableFindings = {
  'medium/unreadable-sectors': entry<'unreadable-sectors'>()({
    severity: 'stop',
    title: 'Parts of the stick cannot be read',
    seen: ({ sectors, firstSector }) =>
      `${countInWords(sectors, 'sector')} of those looked at, the first at sector ${firstSector.toLocaleString('en-US')}.`,
    why: 'The panel meets the same errors in the middle of the update.',
    todo: 'Try another port without a hub. If it stays, retire the stick.',
    source: 'common practice, no source',
  }),
  'medium/nothing-recognised': entry<'nothing-recognised'>()({
    severity: 'stop',
    title: 'Nothing on the stick can be recognised',
    seen: () => 'There is neither a partition table nor a file system.',
    why: 'The panel sees no stick, or offers to format it; nobody should ever tap that.',
    todo: formatIt,
    source: 'common practice, no source',
  }),
  'medium/boot-byte-invalid': entry<'boot-byte-invalid'>()({
    severity: 'stop',
    title: 'A boot byte in the partition table is wrong',
    seen: (facts) => `Entry ${facts.entry} has ${hex(facts.value)}; only 00 and 80 are defined.`,
    why: notSeen,
    todo: formatIt,
    source: 'U-Boot, disk/part_dos.c: boot indicator 00 or 80',
  }),
  'medium/partition-without-place': entry<'partition-without-place'>()({
    severity: 'stop',
    title: 'An entry of the partition table is half empty',
    seen: (facts) => `Entry ${facts.entry} has no type, no place or no size.`,
    why: notSeen,
    todo: formatIt,
    source: `${uefi}, section 5.2.1`,
  }),
  'medium/partition-past-end': entry<'partition-past-end'>()({
    severity: 'stop',
    title: 'A partition ends past the end of the stick',
    seen: (facts) =>
      `Entry ${facts.entry} ends at ${sizeInWords(facts.endByte)}; the stick has ${sizeInWords(facts.mediumBytes)}.`,
    why: 'Writes past the end are lost. An image of a larger stick was written here, or the capacity is false.',
    todo: `${formatIt} Then prove its capacity with \`stickwright prove\`.`,
    source: `${uefi}, section 5.2.1`,
  }),
  'medium/partitions-overlap': entry<'partitions-overlap'>()({
    severity: 'stop',
    title: 'Partitions overlap',
    seen: (facts) => `Entry ${facts.entry} overlaps entry ${facts.other}.`,
    why: 'Writing into one damages the other.',
    todo: formatIt,
    source: `${uefi}, section 5.2.1`,
  }),
  'medium/partition-type-not-mounted': entry<'partition-type-not-mounted'>()({
    severity: 'stop',
    title: "The panel's OS does not mount this type of partition",
    seen: (facts) => `Entry ${facts.entry} has the type byte ${hex(facts.type)}; 06, 07, 0B, 0C and 0E are mounted.`,
    why: 'The stick does not show up in the OS, however sound its files are.',
    todo: formatIt,
    source: 'AOSP vold, Disk.cpp',
  }),
  'medium/partition-type-not-mounted-at-boot': entry<'partition-type-not-mounted'>()({
    severity: 'caution',
    title: 'The partition has an unusual type byte',
    seen: (facts) => `Entry ${facts.entry} has the type byte ${hex(facts.type)}; 0B or 0C is usual for FAT32.`,
    why: 'Boot loaders mostly look at the volume itself; some go by the type.',
    todo: 'Format the stick, or take one along that worked at such a panel.',
    source: 'common practice, no source',
  }),
  'medium/partition-type-misleading': entry<'partition-type-misleading'>()({
    severity: 'caution',
    title: 'The partition table names another file system than there is',
    seen: (facts) =>
      `Entry ${facts.entry} has the type byte ${hex(facts.type)}, but the volume is ${fileSystemInWords(facts.fileSystem)}.`,
    why: 'A reader that goes by the type byte uses the wrong driver.',
    todo: formatIt,
    source: 'common practice, no source',
  }),
  'medium/extended-partition': entry<'extended-partition'>()({
    severity: 'stop',
    title: 'The stick has logical drives',
    seen: (facts) => `Entry ${facts.entry} is a container for further partitions.`,
    why: 'Boot loaders want exactly one plain partition.',
    todo: formatIt,
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
    todo: formatIt,
    source: `${uefi}, section 5.2.3`,
  }),
  'medium/gpt-leftover': entry<'gpt-leftover'>()({
    severity: 'stop',
    title: 'The rest of an old GPT is still on the stick',
    seen: ({ where }) => `An old GPT header stands at the ${where === 'both' ? 'start and at the end' : where}.`,
    why: 'A boot loader that finds it goes by the old table and sees no file.',
    todo: formatIt,
    source: `${uefi}, section 5.3; common practice`,
  }),
  'medium/gpt-leftover-for-os': entry<'gpt-leftover'>()({
    severity: 'caution',
    title: 'The rest of an old GPT is still on the stick',
    seen: ({ where }) => `An old GPT header stands at the ${where === 'both' ? 'start and at the end' : where}.`,
    why: 'The OS goes by the MBR; a repair tool or a boot loader may go by the old table.',
    todo: 'Do not use this stick for recovery; format it when you can.',
    source: `${uefi}, section 5.3; common practice`,
  }),
  'medium/gpt-missing': entry<'gpt-missing'>()({
    severity: 'stop',
    title: 'The MBR points to a GPT that is not there',
    seen: () => 'There is an entry of type EE and no GPT header behind it.',
    why: 'The panel sees no partition.',
    todo: formatIt,
    source: `${uefi}, section 5.2.3`,
  }),
  'medium/gpt-header-damaged': entry<'gpt-header-damaged'>()({
    severity: 'stop',
    title: 'The GPT header is damaged',
    seen: ({ problem }) => `The header ${problem}.`,
    why: 'Strict readers refuse the whole stick.',
    todo: formatIt,
    source: `${uefi}, section 5.3.2`,
  }),
  'medium/gpt-entries-damaged': entry<'gpt-entries-damaged'>()({
    severity: 'stop',
    title: 'The list of GPT partitions is damaged',
    seen: () => 'It does not match the checksum in the header.',
    why: 'Strict readers refuse the whole stick.',
    todo: formatIt,
    source: `${uefi}, section 5.3.3`,
  }),
  'medium/gpt-backup-damaged': entry<'gpt-backup-damaged'>()({
    severity: 'caution',
    title: 'The second copy of the GPT is not right',
    seen: ({ problem }) => `It ${problem}.`,
    why: 'An image of a smaller stick was written here, or the end was overwritten; strict readers complain.',
    todo: formatIt,
    source: `${uefi}, section 5.3.2`,
  }),
  'medium/gpt-entry-invalid': entry<'gpt-entry-invalid'>()({
    severity: 'stop',
    title: 'A GPT partition is not sound',
    seen: (facts) => `Entry ${facts.entry} ${facts.problem}.`,
    why: notSeen,
    todo: formatIt,
    source: `${uefi}, section 5.3.3`,
  }),
};
