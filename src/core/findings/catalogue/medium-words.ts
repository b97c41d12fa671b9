import type { Examples, FlawDetails } from '../../volume-format/audit/flaw.ts';
import { define } from '../define.ts';
import { countInWords, listInWords } from '../words.ts';

/** Words that several findings about a medium share. */
export const fatSpec = 'Microsoft FAT specification 1.03';
export const exfatSpec = 'Microsoft exFAT specification';

export const formatIt =
  'Save what you need from the stick, then format it with `stickwright format`; formatting erases it. If it comes back, retire the stick.';

export const repairOrFormat =
  "Repair it with the operating system's own check (fsck, chkdsk, First Aid), or format it with `stickwright format`, which erases it; then prepare it again.";

export const panelReadsOther = 'The panel may read another file than the one that was written, or stop in the middle.';

export const several = ({ count, paths }: Examples, one: string, many: string): string =>
  `${countInWords(count, one, many)}: ${listInWords(paths)}.`;

export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

export const hex = (byte: number): string => byte.toString(16).toUpperCase().padStart(2, '0');

/** An entry whose facts are the details of a flaw. */
export const entryFor = <Kind extends keyof FlawDetails>() => define<FlawDetails[Kind]>;
