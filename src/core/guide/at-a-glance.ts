import { countInWords, listInWords, quoteWord } from '../text/words.ts';

/** What a desk has, as far as it could be seen; undefined where nobody could look. */
export interface DeskSeen {
  readonly sticks: readonly StickSeen[] | undefined;
  readonly packages: number | undefined;
  readonly families: readonly string[] | undefined;
  readonly round: { readonly folder: string; readonly done: number; readonly toUpdate: number } | undefined;
  /** How many rounds lie here. */
  readonly rounds: number;
  /** A stick that was begun with `guide`: its label, as far as it was given. */
  readonly begun: string | undefined;
}

export interface StickSeen {
  readonly target: string;
  readonly name: string;
  /** It carries a manifest. */
  readonly prepared: boolean;
}

interface Glance {
  readonly facts: readonly (readonly [name: string, text: string])[];
  /** What is probably next, and the whole command for it. */
  readonly next: { readonly why: string; readonly command: string };
}

const unseen = 'could not be looked at: stickwright check-desk';

/** What there is, and what is probably next: what was begun, the round, a stick to check, a stick to make. */
export function lookAtDesk(seen: DeskSeen): Glance {
  const { sticks, packages, families, round } = seen;
  const named = sticks?.map(({ target, name, prepared }) => `${target} (${name}${prepared ? ', prepared' : ''})`);
  return {
    facts: [
      ['Sticks', named === undefined ? unseen : named.length === 0 ? 'none is plugged in' : listInWords(named, 3)],
      ['Shelf', packages === undefined ? unseen : packages === 0 ? 'empty' : countInWords(packages, 'package')],
      ['Families', families === undefined ? 'not all can be read: stickwright family check' : namesOf(families)],
      ['Round', roundInWords(seen)],
    ],
    next: round === undefined ? withoutRound(seen) : (begun(seen) ?? ofRound(round)),
  };
}

const namesOf = (families: readonly string[]): string =>
  families.length === 0 ? 'none yet' : listInWords(families, 5);

const roundInWords = ({ round, rounds }: DeskSeen): string =>
  round !== undefined
    ? `${round.folder}: ${round.done} of ${countInWords(round.toUpdate, 'room')} done`
    : rounds > 1
      ? `${rounds} lie here: name one with --round`
      : 'none here';

const begun = ({ begun: label }: DeskSeen): Glance['next'] | undefined =>
  label === undefined
    ? undefined
    : { why: `A stick was begun${label === '' ? '' : ` for ${label}`}. Go on:`, command: 'stickwright guide' };

const ofRound = ({ done, toUpdate }: NonNullable<DeskSeen['round']>): Glance['next'] =>
  done < toUpdate
    ? { why: 'Prepare the next stick of the round:', command: 'stickwright round prepare' }
    : { why: 'The round is done. Give the list back:', command: 'stickwright round export --csv done.csv' };

function withoutRound(seen: DeskSeen): Glance['next'] {
  const [prepared] = (seen.sticks ?? []).filter((stick) => stick.prepared);
  if (prepared !== undefined && seen.begun === undefined)
    return { why: 'Before the walk, check the stick:', command: `stickwright verify ${quoteWord(prepared.target)}` };
  return begun(seen) ?? { why: 'Make a stick, step by step:', command: 'stickwright guide' };
}
