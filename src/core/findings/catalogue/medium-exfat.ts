import { capital, entryFor, exfatSpec, formatIt, repairOrFormat } from './medium-words.ts';

/** About exFAT. */
export const mediumExfatFindings = {
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
    todo: 'Retire the stick.',
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
  'medium/exfat-percent-wrong': entryFor<'exfat-percent-wrong'>()({
    severity: 'note',
    title: 'The exFAT note of used space is wrong',
    seen: ({ stated, counted }) => `It states ${stated} percent; ${counted} are in use.`,
    why: 'It is a hint only.',
    todo: 'Nothing.',
    source: `${exfatSpec}, section 3.1.18`,
  }),
};
