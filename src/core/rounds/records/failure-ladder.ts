import { modeTraits } from '../../model/mode.ts';
import type { Load, RoundRoom } from '../../model/round.ts';
import { quoteWord } from '../../text/words.ts';
import { alwaysMind, stopAtOnce } from '../plan/usual-practice.ts';
import { broughtInWords, messageToMaker, wordsOf } from './find-repeats.ts';
import { airRungs, recoveryWords } from './next-way.ts';
import type { RoomStatus, RoundStatus, StickStatus } from './round-status.ts';

export type RungName =
  | ('verify-stick' | 'other-port' | 'other-stick' | 'fresh-download' | 'read-label' | 'maker')
  | ('own-update' | 'next-way');

/**
 * One step of the ladder (common practice, no source). `done`: the records show that it was taken. `next`: take it now.
 * `after`: after that. `waits`: not before what is next has failed. `closed`: too late, two tries failed.
 */
export interface Rung {
  readonly name: RungName;
  readonly state: 'done' | 'next' | 'after' | 'waits' | 'closed';
  readonly title: string;
  /** With this room's facts filled in. */
  readonly what: string;
  /** The exact command, where the tool can help; STICK stands for where the stick is plugged in. */
  readonly command: string | undefined;
}

export interface LadderTry {
  readonly at: string;
  readonly who: string;
  readonly stick: string | null;
  /** The stick, or its own update, in words. */
  readonly brought: string;
  readonly packageName: string | null;
  /** What the panel said. */
  readonly words: string;
}

export interface Ladder {
  readonly room: RoundRoom;
  readonly load: Load | undefined;
  readonly build: string | null;
  readonly tries: readonly LadderTry[];
  /** What failed: the panel's own update, or updates by stick. */
  readonly way: 'over-the-air' | 'stick';
  /** Two complete tries by stick failed: nobody tries a third time before the maker has answered. */
  readonly isOver: boolean;
  readonly rungs: readonly Rung[];
  /** What recovery means here, where in-OS failed twice. */
  readonly recovery: string | undefined;
  readonly stopAtOnce: readonly string[];
  /** Ready to copy. */
  readonly message: string;
}

const completeTries = 2;

/** The next step for a room that failed, with everything filled in that the plan and the records know. */
export function failureLadder(status: RoomStatus, round: RoundStatus): Ladder {
  const { room, tries, next } = status;
  const load = next?.load ?? round.round.loads.find(({ rooms }) => rooms.includes(room.key));
  const isByStick = room.state !== 'over-the-air';
  const isOver = isByStick && tries.length >= completeTries;
  const told = tries.map((reading) => ({
    at: reading.visit.at,
    who: reading.visit.who,
    stick: reading.visit.stick,
    brought: broughtInWords(reading.visit),
    packageName: reading.visit.package?.name ?? null,
    words: wordsOf(reading).join('; '),
  }));
  const facts: Facts = { status, load, isOver, used: usedSticks(status, round), spare: spareSticks(status, round) };
  return {
    room,
    load,
    build: status.reached ?? room.running,
    tries: told,
    way: isByStick ? 'stick' : 'over-the-air',
    isOver,
    rungs: isByStick ? rungsOf(facts) : airRungs(status, round),
    recovery: isOver && load !== undefined && !modeTraits[load.mode].isLastResort ? recoveryWords(status) : undefined,
    stopAtOnce: [
      `Stop at once and leave the panel alone: ${stopAtOnce}. Switch it off only where that is safe, keep people away, and tell whoever answers for the building.`,
      ...alwaysMind,
    ],
    message: messageToMaker(status, load),
  };
}

interface Facts {
  readonly status: RoomStatus;
  readonly load: Load | undefined;
  readonly isOver: boolean;
  /** Sticks of the tries, the latest last. */
  readonly used: readonly StickStatus[];
  /** Prepared with the same load, and not tried here. */
  readonly spare: readonly string[];
}

const usedSticks = ({ tries }: RoomStatus, { sticks }: RoundStatus): readonly StickStatus[] =>
  [...new Set(tries.flatMap(({ visit }) => visit.stick ?? []))].flatMap(
    (code) => sticks.find((one) => one.code === code) ?? [],
  );

const spareSticks = (status: RoomStatus, { sticks }: RoundStatus): readonly string[] => {
  const tried = new Set(status.tries.map(({ visit }) => visit.stick));
  const failing = new Set(sticks.filter(({ failures }) => failures > 1).map(({ code }) => code));
  return status.sticks.filter((code) => !tried.has(code) && !failing.has(code));
};

/** The rungs in their order; the first that the records do not show as taken is next. */
function rungsOf(facts: Facts): readonly Rung[] {
  const before = [verifyRung(facts), portRung(facts), stickRung(facts)];
  const after = [downloadRung(facts), labelRung(facts), makerRung(facts)];
  // After two tries nothing more is tried at the panel; what is left is done at the desk.
  const [closed, open] = facts.isOver ? [before, after] : [[], before];
  const waiting = facts.isOver ? [] : after;
  let isNextGiven = false;
  const taken = open.map((rung): Rung => {
    if (rung.isDone) return asRung(rung, 'done');
    const state = isNextGiven ? 'after' : 'next';
    isNextGiven = true;
    return asRung(rung, state);
  });
  return [
    ...closed.map((rung) => asRung(rung, rung.isDone ? 'done' : 'closed')),
    ...taken,
    ...waiting.map((rung) => asRung(rung, 'waits')),
  ];
}

type Draft = Omit<Rung, 'state'> & { readonly isDone: boolean };

const asRung = ({ name, title, what, command }: Draft, state: Rung['state']): Rung => ({
  name,
  state,
  title,
  what,
  command,
});

/** For the panel and the job that the stick is about to go to again. */
const verifyCommand = ({ status, load }: Pick<Facts, 'status' | 'load'>): string =>
  `stickwright verify STICK --label ${quoteWord(status.room.label)}${load === undefined ? '' : ` --mode ${load.mode}`}`;

function verifyRung({ status, load, used }: Facts): Draft {
  const stick = used.at(-1);
  const failedAt = status.tries.at(-1)?.visit.at ?? '';
  // A stick that came back after the failure was read whole then.
  const looked = stick?.returned !== undefined && Date.parse(stick.returned.at) >= Date.parse(failedAt);
  const which = stick === undefined ? 'the stick (note its code next time)' : `stick ${stick.code}`;
  return {
    name: 'verify-stick',
    title: 'Verify the stick',
    what: `Read ${which} whole against its manifest and the label ${status.room.label}. If it is not ready, retire it and take another.`,
    command: verifyCommand({ status, load }),
    // What a panel leaves on a stick does not change what it brought.
    isDone: looked && (stick?.returned?.state === 'unchanged' || stick?.returned?.state === 'visited'),
  };
}

function portRung({ load }: Facts): Draft {
  const port = load === undefined ? 'the stated port' : load.panel.port;
  return {
    name: 'other-port',
    title: 'Other port',
    what: `The stated port is ${port}. Was it that one, straight, without hub or extension? If it was, use another port that the maker's document allows for this. All other USB devices out.`,
    command: undefined,
    isDone: false,
  };
}

function stickRung({ status, load, used, spare }: Facts): Draft {
  const what =
    spare.length > 0
      ? `Stick ${spare.join(' or ')} carries the same load ${load?.id ?? ''}. Verify it, compare its tag with the label, and try once more with it.`
      : `No other stick carries ${load === undefined ? 'this load' : `load ${load.id} (${load.package.name})`} yet. Prepare one, best of another make, and try once more with it.`;
  const prepare = load === undefined ? undefined : `stickwright round prepare --load ${load.id} --stick STICK`;
  return {
    name: 'other-stick',
    title: 'Other verified stick',
    what,
    command: spare.length > 0 ? verifyCommand({ status, load }) : prepare,
    isDone: used.length > 1,
  };
}

function downloadRung({ load }: Facts): Draft {
  const name = load?.package.name;
  return {
    name: 'fresh-download',
    title: 'Fresh download',
    what:
      name === undefined
        ? "Download the package again from the maker's page and compare its hash."
        : `Download ${name} again from the maker's page. Its SHA-256 on the shelf is ${load?.package.sha256}; compare with the page and with the new file. Look whether the maker has withdrawn or replaced it.`,
    command: name === undefined ? undefined : `stickwright shelf check ${quoteWord(name)}`,
    isDone: false,
  };
}

function labelRung({ status: { room } }: Facts): Draft {
  return {
    name: 'read-label',
    title: 'Read the label again',
    what: `The list says ${room.label}${room.serial === null ? '' : `, serial ${room.serial}`}. Photograph the plate, and let a second person type it without seeing the list. One character decides.`,
    command: `stickwright label ${quoteWord(room.label)} --again "WHAT THE SECOND PERSON READS"`,
    isDone: false,
  };
}

function makerRung({ status }: Facts): Draft {
  return {
    name: 'maker',
    title: 'Ask the maker',
    what: 'Send the message below with three photos: the plate, the About page, the screen with the exact words. Leave the panel as it is until they answer.',
    command: `stickwright round ladder ${quoteWord(status.room.key)}`,
    isDone: false,
  };
}
