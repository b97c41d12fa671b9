import { define } from '../../model/catalogue-entry.ts';
import { countInWords, sizeInWords } from '../../text/words.ts';

const retire = 'Mark the stick and throw it away; do not give it to anybody. Take another one for this job.';

/** Whether the stick is what it says: answers of a test that writes and reads back. */
export const proveFindings = {
  'medium/capacity-false': define<{ statedBytes: number; trueBytes: number; how: 'wraps' | 'drops' }>({
    severity: 'stop',
    noOverride: true,
    title: 'The stick holds less than it says',
    seen: ({ statedBytes, trueBytes, how }) =>
      `It states ${sizeInWords(statedBytes)} and keeps ${sizeInWords(trueBytes)}: ${
        how === 'wraps'
          ? 'what is written past that lands on top of what was there'
          : 'what is written past that is lost'
      }.`,
    why: 'Small files look fine and large ones are corrupt; the panel fails in the middle of the update.',
    todo: retire,
    source: 'common practice, no source',
  }),
  'medium/areas-bad': define<{ areas: number; bytes: number; firstByte: number }>({
    severity: 'stop',
    noOverride: true,
    title: 'The stick does not keep what is written',
    seen: ({ areas, bytes, firstByte }) =>
      `${countInWords(areas, 'area')}, ${sizeInWords(bytes)} in all; the first begins at byte ${firstByte.toLocaleString('en-US')}.`,
    why: 'A firmware that lies there is corrupt.',
    todo: retire,
    source: 'common practice, no source',
  }),
  'medium/areas-unstable': define<{ areas: number; firstByte: number }>({
    severity: 'stop',
    noOverride: true,
    title: 'The stick answers differently each time',
    seen: ({ areas, firstByte }) =>
      `${countInWords(areas, 'area gives', 'areas give')} other bytes at a second reading; the first begins at byte ${firstByte.toLocaleString('en-US')}.`,
    why: 'Worn flash: a check at the desk passes and the panel reads something else.',
    todo: retire,
    source: 'from memory, no source: worn cells flip between reads',
  }),
  'medium/proved-by-sample': define<{ areas: number; missShare: number; areaBytes: number; cutBytes: number }>({
    severity: 'unproven',
    title: 'Only a sample was proved',
    seen: ({ areas, missShare, areaBytes, cutBytes }) =>
      `${countInWords(areas, 'place')} of ${sizeInWords(areaBytes)} kept what was written. A stick that wraps at a whole number of MiB, or that lacks its last ${sizeInWords(cutBytes)} or more, would have shown; one with a tenth of its places bad would pass with a chance of ${chance(missShare)}.`,
    why: 'Single bad places are not found this way, nor is a false stick that remembers the last few hundred places.',
    todo: 'For a stick that you do not know, run it without --sample.',
    source:
      'Places chosen as a difference cover meet every wrap of whole MiB; each of 100 random places misses a tenth with the chance 0.9, all of them with 0.9 to the power of 100',
  }),
  'medium/proved-in-part': define<{ bytes: number; ofBytes: number }>({
    severity: 'unproven',
    title: 'Only the free part was proved',
    seen: ({ bytes, ofBytes }) => `${sizeInWords(bytes)} of ${sizeInWords(ofBytes)} kept what was written.`,
    why: 'Where files lie, nothing was written, and so nothing is known.',
    todo: 'To be sure, save the files and prove the whole stick, which erases it.',
    source: 'common practice, no source',
  }),
  'medium/proof-unfinished': define<{ writtenBytes: number; testedBytes: number; ofBytes: number }>({
    severity: 'unproven',
    title: 'The proof is not finished',
    seen: ({ writtenBytes, testedBytes, ofBytes }) =>
      `Of ${sizeInWords(ofBytes)}, ${sizeInWords(writtenBytes)} were written and ${sizeInWords(testedBytes)} read back.`,
    why: 'The rest may be false or bad.',
    todo: 'Run the same command again: it goes on where it stopped.',
    source: 'common practice, no source',
  }),
  'medium/proved-through-cache': define<Record<string, never>>({
    severity: 'unproven',
    title: 'What was read back may have come from memory',
    seen: () => 'The operating system does not let us read around its memory here.',
    why: 'A false capacity hides behind it.',
    todo: 'Run it on the raw drive (administrator or root), on Linux or Windows.',
    source: 'common practice, no source',
  }),
};

const chance = (share: number): string =>
  share < 0.0001 ? 'less than 1 in 10,000' : `about 1 in ${Math.round(1 / share).toLocaleString('en-US')}`;
