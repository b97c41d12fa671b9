import { countInWords, listInWords } from '../words.ts';
import { capital, entryFor, fatSpec, formatIt, repairOrFormat, several } from './medium-words.ts';

/** About folders and names. */
export const mediumFolderFindings = {
  'medium/root-damaged': entryFor<'root-damaged'>()({
    severity: 'stop',
    title: 'The root folder is damaged',
    seen: ({ problem }) => `${capital(problem)}.`,
    why: 'The panel sees some of the files, or none.',
    todo: formatIt,
    source: `${fatSpec}, BPB_RootClus`,
  }),
  'medium/folder-damaged': entryFor<'folder-damaged'>()({
    severity: 'stop',
    title: 'A folder is damaged',
    seen: (facts) =>
      several(
        facts,
        'folder lacks its own first slots, or is too long',
        'folders lack their own first slots, or are too long',
      ),
    why: 'The panel may not find what lies in it.',
    todo: formatIt,
    source: `${fatSpec}, section 6.5`,
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
    title: 'A short name holds what no name may hold',
    seen: (facts) => several(facts, 'name', 'names'),
    why: 'Something wrote over the folder. The panel may stop at it, or list nonsense.',
    todo: formatIt,
    source: `${fatSpec}, "Short Directory Entries"`,
  }),
  'medium/name-duplicate': entryFor<'name-duplicate'>()({
    severity: 'stop',
    title: 'Two things have the same name',
    seen: (facts) => several(facts, 'name is there twice', 'names are there twice'),
    why: 'The panel takes one of them, and nobody knows which.',
    todo: formatIt,
    source: `${fatSpec}, "Short Directory Entries"`,
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
    source: `${fatSpec}, "Long Directory Entries" and ATTR_VOLUME_ID`,
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
    source: `${fatSpec}, DIR_Name[0]`,
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
    todo: 'Delete what is not needed, or format the stick as FAT32, whose root grows.',
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
