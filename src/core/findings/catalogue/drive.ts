import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import { sizeInWords } from '../../text/words.ts';

/** Findings of the area `drive/`: what is known of a plugged-in drive before anything on it is opened. */
export const driveFindings = {
  'drive/refused': define<{ because: string }>({
    severity: 'stop',
    noOverride: true,
    title: 'This drive is never written',
    seen: ({ because }) => `It is never written: ${because}.`,
    why: 'Writing to the wrong drive can cost the data on it.',
    todo: 'Use a removable USB stick.',
    source: 'common practice, no source',
  }),
  'drive/no-volume-seen': define<NoFacts>({
    severity: 'unproven',
    title: 'No volume was seen on the drive',
    seen: () => 'No volume was seen on it: it is not formatted, or the operating system does not tell.',
    why: 'On a stick that is not formatted the panel sees no file.',
    todo: 'Run it again with the right to read the drive (administrator or root), or format the stick; formatting erases it.',
    source: 'common practice, no source',
  }),
  'drive/size-unknown': define<{ largest: number }>({
    severity: 'unproven',
    title: 'The size of the drive is not known',
    seen: ({ largest }) =>
      `The operating system does not tell its size; the family file says at most ${sizeInWords(largest)}.`,
    why: 'Old boot loaders cannot address large sticks and see nothing.',
    todo: 'Read the size on the stick itself.',
    source: 'The family file; common practice, no source',
  }),
};
