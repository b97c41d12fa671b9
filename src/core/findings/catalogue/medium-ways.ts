import { entryFor, fatSpec, formatIt, repairOrFormat, several } from './medium-words.ts';

const alike = 'Some panels would read it, others would find another name, other bytes or nothing.';
const writeAnew = `Prepare the stick again with the same command, which writes such files anew. If it is still there, format the stick with \`stickwright format\`, which erases it; if it comes back after that, retire the stick.`;

/** About what leads to the firmware and to its record: there every bit counts, because every reader must come to the same files. */
export const mediumWayFindings = {
  'medium/way-damaged': entryFor<'way-damaged'>()({
    severity: 'stop',
    title: 'What leads to the firmware is damaged',
    seen: (facts) => several(facts, 'name', 'names'),
    why: `Its chain of clusters breaks off, meets another one or is not led there soundly. ${alike} A repair program may cut it down.`,
    todo: formatIt,
    source: `${fatSpec}, "FAT Data Structure" and DIR_FstClusHI`,
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
      several(facts, 'name has marks set', 'names have marks set').replace(/\.$/, ' that no system sets.'),
    why: `Something wrote over the folder, or the flash is failing. ${alike}`,
    todo: writeAnew,
    source: `${fatSpec}, "Directory Structure" and "Long Directory Entries"; seen in Linux, mtools and FatFs, which differ`,
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
