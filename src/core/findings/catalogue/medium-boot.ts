import { countInWords, sizeInWords } from '../words.ts';
import { capital, entryFor, fatSpec, formatIt, hex, repairOrFormat } from './medium-words.ts';

/** About the boot sector, its copy and the note of free space. */
export const mediumBootFindings = {
  'medium/volume-past-partition': entryFor<'volume-past-partition'>()({
    severity: 'stop',
    title: 'The volume is larger than its place',
    seen: ({ statedBytes, bytes }) =>
      `The file system states ${sizeInWords(statedBytes)}; there are ${sizeInWords(bytes)}.`,
    why: 'What lies past the end cannot be read. An image was cut short, or the stick is smaller than it once said.',
    todo: 'Format the stick, and prove its capacity with `stickwright prove` before you trust it.',
    source: `${fatSpec}, BPB_TotSec32`,
  }),
  'medium/volume-smaller-than-partition': entryFor<'volume-smaller-than-partition'>()({
    severity: 'note',
    title: 'The volume does not fill its place',
    seen: ({ statedBytes, bytes }) =>
      `The file system uses ${sizeInWords(statedBytes)} of ${sizeInWords(bytes)}: an image of a smaller stick was written here.`,
    why: 'The rest cannot be used; a panel does not mind.',
    todo: 'Nothing, or format the stick to use it whole.',
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
    todo: 'Do not use this stick for recovery; format it when you can.',
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
    todo: 'Format the stick when you can.',
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
