import { define } from '../../model/catalogue-entry.ts';

/** What the paper of a round cannot make up for. */
export const cardsFindings = {
  'cards/no-approval': define<{ rooms: readonly string[] }>({
    severity: 'caution',
    title: 'Wipes that nobody approved',
    seen: ({ rooms }) => `No approval is noted for ${rooms.join(', ')}; the cards have a line for it.`,
    why: 'The panel is erased for good; whoever stands before it has nobody to ask.',
    todo: 'Have it approved and note it before the walk: stickwright round record with the room and --approved-by.',
    source: 'common practice',
  }),
  'cards/unproven': define<{ loads: readonly string[]; codes: readonly string[] }>({
    severity: 'unproven',
    title: 'Something that the cards carry is not proven',
    seen: ({ loads, codes }) => `Of load ${loads.join(', ')}: ${codes.join(', ')}. The cards and tags say so.`,
    why: 'Nothing was wrong, but something that matters at the panel could not be checked; it still has not been.',
    todo: 'stickwright explain with the code says what settles it. Settle it at the desk, prepare the sticks once more, and print again.',
    source: 'common practice',
  }),
  'cards/not-prepared': define<{ loads: readonly string[] }>({
    severity: 'note',
    title: 'Sticks without a code yet',
    seen: ({ loads }) =>
      `No stick carries load ${loads.join(', ')} so far; cards and tags have a line to write its code on.`,
    why: 'A card that names its stick keeps the wrong one out of the panel.',
    todo: 'Prepare the sticks first (stickwright round prepare), then print again; or write the codes on by hand.',
    source: 'common practice',
  }),
  'cards/several-pages': define<{ rooms: readonly string[] }>({
    severity: 'note',
    title: 'Cards of more than one page',
    seen: ({ rooms }) =>
      `${rooms.join(', ')}: the card does not fit on one page in a size that can be read; it goes on, and every page says so.`,
    why: 'Half a card in a room is half of its warnings.',
    todo: 'Clip the pages together, or print on the larger paper (--paper a5).',
    source: 'common practice',
  }),
};
