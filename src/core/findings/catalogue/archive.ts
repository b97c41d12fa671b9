import { archiveContentFindings } from './archive-content.ts';
import { archiveKindFindings } from './archive-kind.ts';
import { archiveNameFindings } from './archive-names.ts';
import { archiveStructureFindings } from './archive-structure.ts';
import { publishedHashFindings } from './published-hash.ts';

/** Findings of the area `archive/`. */
export const archiveFindings = {
  ...archiveKindFindings,
  ...archiveStructureFindings,
  ...archiveNameFindings,
  ...archiveContentFindings,
  ...publishedHashFindings,
};
