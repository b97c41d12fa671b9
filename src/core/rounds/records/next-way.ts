import { answersOfList } from '../../guide/way-questions.ts';
import { askWhatToKeep, mayHoldSomething, type Way, wayOfSome } from '../../guide/which-way.ts';
import type { Room } from '../../model/room.ts';
import { quoteWord } from '../../text/words.ts';
import { wordsOf } from './find-repeats.ts';
import type { RoomStatus, RoundStatus } from './round-status.ts';

/**
 * From one way to the next, the mildest first: over the air, a stick in the running OS, recovery. Which comes is said
 * by the same rules as for a plan; the family is asked when the round is planned again.
 */
function nextWayOf({ room, approval }: RoomStatus, now: Room['answers']): Way {
  const answers = answersOfList({ ...room.way?.answers, ...now }, approval ?? undefined);
  return wayOfSome(answers, { family: undefined, target: undefined });
}

interface AirRung {
  readonly name: 'own-update' | 'next-way' | 'maker';
  readonly state: 'next' | 'after' | 'closed' | 'waits';
  readonly title: string;
  readonly what: string;
  readonly command: string | undefined;
}

/** What comes where a panel's own update failed: once more, then the next way, then the maker. */
export function airRungs(status: RoomStatus, { round }: RoundStatus): readonly AirRung[] {
  const isFirst = status.tries.length < 2;
  const way = nextWayOf(status, { air: 'fails' });
  const words = status.tries.flatMap(wordsOf).join('; ');
  return [
    {
      name: 'own-update',
      state: isFirst ? 'next' : 'closed',
      title: 'Its own update once more',
      // Common practice, no source.
      what: 'Look whether it is online, whether its clock is right and whether it has space left; then let it try once more.',
      command: undefined,
    },
    {
      name: 'next-way',
      state: isFirst ? 'after' : 'next',
      title: titles[way.way === 'stick' ? way.mode : way.way],
      what: `${[way.reason, ...way.todo].join(' ')} Write into the list that its own update fails, and plan again.`,
      command: `stickwright round plan ${quoteWord(round.list.path)}`,
    },
    {
      name: 'maker',
      state: isFirst ? 'waits' : 'after',
      title: 'Ask the maker',
      what: `Send the message below with three photos: the plate, the About page, the screen${words === '' ? '' : ` with the exact words (${words})`}.`,
      command: undefined,
    },
  ];
}

const titles = {
  'over-the-air': 'Its own update',
  'in-os': 'A stick in its running OS',
  recovery: 'Recovery, which wipes',
  'stop-and-ask': 'Ask before the next way',
};

/** What recovery means where in-OS failed twice: never without a name, never over what is worth keeping. */
export function recoveryWords(status: RoomStatus): string {
  const { room, approval } = status;
  const said = answersOfList({ ...room.way?.answers }, approval ?? undefined);
  const ask = mayHoldSomething(said) ? [`Ask before that: ${askWhatToKeep('').todo[0] ?? ''}`] : [];
  const name =
    approval === null
      ? `It needs an approval: stickwright round record ${quoteWord(room.key)} --approved-by NAME`
      : `A wipe is approved by ${approval}.`;
  return [
    'The in-OS update failed twice. Recovery may be the answer, and only as the maker says for this panel: it WIPES everything on it, and a wipe is final.',
    ...ask,
    'Back up first: boards, recordings, accounts, licences, network and certificates, names, passcode, schedule.',
    'Then write into the list that it failed twice and what is worth keeping, and plan again.',
    name,
  ].join(' ');
}
