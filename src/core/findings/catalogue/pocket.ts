import { define } from '../../model/catalogue-entry.ts';
import { countInWords } from '../../text/words.ts';

const practice = 'common practice, no source';
const exportAgain =
  'Open the file on that phone again, give its entries out once more, and merge that too. What is here already is kept once.';

/** The round as a file for a phone, and what comes back from there. */
export const pocketFindings = {
  'pocket/written': define<{ who: string; rooms: number; bytes: number; pocket: string }>({
    severity: 'note',
    title: 'the file for the phone is written',
    seen: ({ who, rooms, bytes, pocket }, subject) =>
      `${subject}: ${countInWords(rooms, 'room')} for ${who}, ${Math.ceil(bytes / 1000)} kB, file ${pocket}.`,
    why: 'It holds where panels hang, their labels and serials. Whoever has it can read it, and can write entries in its name: it says which file, not which person.',
    todo: 'Give it to that person only, by a way that you would trust with the room list. After the round they erase it on the phone.',
    source: practice,
  }),
  'pocket/no-approval': define<{ rooms: readonly string[] }>({
    severity: 'caution',
    title: 'wipes that nobody approved',
    seen: ({ rooms }) => `No approval is noted for ${rooms.join(', ')}. The file says wait there, and shows no steps.`,
    why: 'The panel is erased for good; whoever stands before it has nobody to ask.',
    todo: 'Have it approved, note it (stickwright round record with the room and --approved-by), and write the file again.',
    source: practice,
  }),
  'pocket/not-prepared': define<{ loads: readonly string[] }>({
    severity: 'caution',
    title: 'sticks that the file cannot know',
    seen: ({ loads }) =>
      `No stick carries load ${loads.join(', ')} so far. The file can tell such a stick by its printed tag only.`,
    why: 'A file that knows the code of a stick keeps the wrong one out of the panel.',
    todo: 'Prepare the sticks first (stickwright round prepare), then write the file again. What was entered on the phone stays there.',
    source: practice,
  }),
  'pocket/unproven': define<{ loads: readonly string[]; codes: readonly string[] }>({
    severity: 'unproven',
    title: 'something that the sticks carry is not proven',
    seen: ({ loads, codes }) =>
      `Of load ${loads.join(', ')}: ${codes.join(', ')}. The file says so in each of its rooms.`,
    why: 'Nothing was wrong, but something that matters at the panel could not be checked; it still has not been.',
    todo: 'stickwright explain with the code says what settles it. Settle it at the desk, prepare the sticks once more, and write the file again.',
    source: practice,
  }),
  'pocket/taken': define<{ pocket: string; who: string; madeAt: string; lines: number }>({
    severity: 'note',
    title: 'entries of a phone',
    seen: ({ pocket, who, madeAt, lines }, subject) =>
      `${subject}: ${countInWords(lines, 'entry', 'entries')} of file ${pocket}, which was made for ${who} at ${madeAt}. That tells the file, not the person.`,
    why: 'Their codes prove that they were made in this file and not changed since. Whoever has the file can write in its name.',
    todo: 'Nothing, if that file was given to nobody else.',
    source: practice,
  }),
  'pocket/photos': define<{ count: number }>({
    severity: 'note',
    title: 'photos of a phone',
    seen: ({ count }, subject) =>
      `${subject}: ${countInWords(count, 'photo')}. Each lies in the folder photos of the round, under the id of its entry.`,
    why: 'The exact words on a screen settle with the maker what a person remembers otherwise.',
    todo: 'Send them with the message to the maker (stickwright round ladder). Whoever has the round has them too.',
    source: practice,
  }),
  'pocket/torn-line': define<{ where: string }>({
    severity: 'caution',
    title: 'an entry of a phone that is not whole',
    seen: ({ where }, subject) => `In ${subject}, ${where} is cut off or something in it got lost. It does not count.`,
    why: 'The room that it speaks of stands as if nobody had been there. All other entries count.',
    todo: exportAgain,
    source: practice,
  }),
  'pocket/edited-line': define<{ where: string }>({
    severity: 'caution',
    title: 'an entry of a phone that was changed',
    seen: ({ where }, subject) =>
      `In ${subject}, ${where} is not what the phone wrote: its code does not fit. It does not count.`,
    why: 'Somebody or some program changed it on its way. What it says now nobody at the panel has said. All other entries count.',
    todo: exportAgain,
    source: practice,
  }),
  'pocket/foreign-line': define<{ where: string; pocket: string }>({
    severity: 'caution',
    title: 'an entry of a file that this round did not make',
    seen: ({ where, pocket }, subject) =>
      `In ${subject}, ${where} is of file ${pocket}. This round made no such file. It does not count.`,
    why: 'It is of another round, or made up. All other entries count.',
    todo: 'Merge it in the folder of the round that made the file (named with --round). A copy of a round has the files that were made before it was copied.',
    source: practice,
  }),
  'pocket/missing-lines': define<{ first: number; last: number | null }>({
    severity: 'caution',
    title: 'entries of a phone that did not come along',
    seen: ({ first, last }, subject) =>
      last === null
        ? `${subject} ends before its end: whether entries from number ${first} on are missing cannot be told.`
        : `${subject} has no entry number ${first === last ? first : `${first} to ${last}`}, and goes on after it or counts it.`,
    why: 'What they say of a room is not known here. All other entries count.',
    todo: exportAgain,
    source: practice,
  }),
  'pocket/missing-parts': define<{ numbers: readonly number[]; of: number }>({
    severity: 'caution',
    title: 'parts of a phone’s entries that are not there',
    seen: ({ numbers, of }, subject) => `Of ${of} parts ${subject} does not have ${numbers.join(', ')}.`,
    why: 'Each part holds entries of its own. Those of the others count.',
    todo: 'Scan or copy the missing parts and merge them too, in any order.',
    source: practice,
  }),
};
