import { mediumBootFindings } from './medium-boot.ts';
import { mediumChainFindings } from './medium-chains.ts';
import { mediumExfatFindings } from './medium-exfat.ts';
import { mediumFolderFindings } from './medium-folders.ts';
import { mediumTableFindings } from './medium-table.ts';
import { mediumWayFindings } from './medium-ways.ts';
import { proveFindings } from './prove.ts';

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
