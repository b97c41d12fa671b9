import type { ModeRules } from './family.ts';
import type { Mode } from './mode.ts';

/**
 * What applies where no family says otherwise: FAT32 for recovery, behind an MBR, as readers at boot time take it; the
 * OS's updater takes exFAT too (common practice, no source; every family file may say more or less).
 */
const customary: Record<Mode, ModeRules> = {
  'in-os': {
    'file-systems': ['fat32', 'exfat'],
    'required-at-root': [],
    'only-these-at-root': false,
    'keeps-data': true,
    port: "the port that the maker's document names",
    steps: [],
    cautions: [],
  },
  recovery: {
    'file-systems': ['fat32'],
    'partition-table': ['mbr'],
    'required-at-root': [],
    'only-these-at-root': false,
    'keeps-data': false,
    port: "the port that the maker's document names",
    steps: [],
    cautions: [],
  },
};

/** The rules of a mode where no family gives any. */
export const customaryRules = (mode: Mode): ModeRules => customary[mode];
