import type { Family } from '../model/family.ts';
import type { Mode } from '../model/mode.ts';
import { type Answers, answerTo } from './question.ts';
import { nextWayQuestion, refusesDowngrade, updatesItself, withImplied } from './way-questions.ts';

/**
 * How a panel is brought to another build, the mildest way first: over the air, no stick; a stick in its running OS;
 * recovery, which wipes; or nobody here can tell and somebody must be asked. Common practice, no source.
 */
export type Way =
  | { readonly way: 'over-the-air'; readonly reason: string; readonly todo: readonly string[] }
  | { readonly way: 'stick'; readonly mode: Mode; readonly reason: string; readonly todo: readonly string[] }
  | { readonly way: 'stop-and-ask'; readonly reason: string; readonly todo: readonly string[] };

export interface PanelKnown {
  /** The family of the panel, where one reads its label: it says which modes there are, and what they keep. */
  readonly family: Family | undefined;
  /** The newest build that is at hand for it. */
  readonly target: string | undefined;
  /** The package is known to be older than what the panel runs. */
  readonly isDowngrade?: boolean;
  /** It runs that build already. */
  readonly isThere?: boolean;
}

/**
 * The way by answers of which some may be missing, as a list has them: what the next question would be is then what
 * somebody must be asked, and answers that cannot both be true are none.
 */
export function wayOfSome(answers: Answers, known: PanelKnown): Way {
  if (answerTo(answers, 'way.starts') === 'no' && (seenRunning(answers) || answerTo(answers, 'way.settings') === 'yes'))
    return {
      way: 'stop-and-ask',
      reason: 'It is said not to start, and also what only a running panel shows: both cannot be true now.',
      todo: ['Ask somebody to look at the panel: does it start, up to its home screen? Then mend the list.'],
    };
  const open = nextWayQuestion(answers, known.family, known.isDowngrade);
  const whom = open === undefined ? undefined : whomToAsk[open.id];
  // Nothing said of what is worth keeping, or of an approval, is an answer too: then nobody is sent to a wipe.
  if (open === undefined || whom === undefined) return wayOf(answers, known);
  return {
    way: 'stop-and-ask',
    reason: 'Not enough is known of it to say which way comes first.',
    todo: [`${whom}: ${open.text}`],
  };
}

const whomToAsk: Readonly<Record<string, string>> = {
  'way.starts': 'Ask whoever is in the room',
  'way.air': 'Ask whoever is in the room to look on its update page',
  'way.settings': "Ask the panel's owner",
};

const seenRunning = (answers: Answers): boolean => ['offers', 'nothing'].includes(answerTo(answers, 'way.air') ?? '');

/**
 * The way, with its reason and what to do; the questions must have been answered. What no family says is not claimed:
 * waits and ports are those of the maker's document.
 */
export function wayOf(said: Answers, known: PanelKnown): Way {
  const answers = withImplied(said);
  switch (answerTo(answers, 'way.starts')) {
    case 'unknown':
      return {
        way: 'stop-and-ask',
        reason: 'Nobody has looked at the panel yet.',
        todo: ['Switch it on and see whether it starts. It may update itself, and then no stick is needed.'],
      };
    case 'no':
      if (known.isThere) return notMended;
      return recovery(answers, 'It does not start, so nothing in its OS can update it.', known.family);
    default:
      return runningPanel(answers, known);
  }
}

const notMended: Way = {
  way: 'stop-and-ask',
  reason: 'It does not start, although it has the newest build that is at hand: an update is no cure for that.',
  todo: ['Ask the maker, with photographs of plate and screen, and the exact words on it.'],
};

function runningPanel(answers: Answers, { family, target, isDowngrade = false }: PanelKnown): Way {
  const found = answerTo(answers, 'way.air') ?? '';
  return updatesItself(answers)
    ? overTheAir(found === 'offers', family, target)
    : withStick(answers, airInWords[found] ?? '', family, isDowngrade && refusesDowngrade(family));
}

/** What to switch on and how long it takes are the family's to say; without its word both stay as they are usual. */
function overTheAir(offers: boolean, family: Family | undefined, target: string | undefined): Way {
  const expected = target === undefined ? '' : ` Build ${target} is what to expect.`;
  return {
    way: 'over-the-air',
    reason: offers
      ? 'Its own update offers something: that is the mildest way, and it needs no stick.'
      : 'It could be online, and its own update keeps everything and needs no stick.',
    todo: [
      ...(offers ? ['Let it update itself, and leave its power alone meanwhile.'] : []),
      ...(family?.['over-the-air']?.steps ?? (offers ? [] : [onTheNetwork])),
      `Look at its About page again ${whenToLook(family)}.${expected}`,
      'Only if it still runs the old build then: write down what its update says, and start this again.',
    ],
  };
}

/** As the family says; else the next day, which claims nothing of the panel. */
function whenToLook(family: Family | undefined): string {
  const hours = family?.['over-the-air']?.hours;
  return hours === undefined ? 'the next day' : `after ${hours.from} to ${hours.to} hours`;
}

const onTheNetwork =
  'Put it on the network, and switch its automatic update on. A wall socket for network data will do, or a guest network.';

function withStick(answers: Answers, why: string, family: Family | undefined, isRefused: boolean): Way {
  switch (answerTo(answers, 'way.settings')) {
    case 'no':
      return {
        way: 'stop-and-ask',
        reason: `${why} Nobody can open its settings, where an update from a stick is started.`,
        todo: [
          "Ask the panel's owner for the sign-in. After a wipe it is asked for as well.",
          'Only if there is none: ask the maker, with a photograph of the plate. Not being able to sign in is no reason to wipe.',
        ],
      };
    case 'failed-twice':
      return recovery(answers, 'Updating from a stick in its OS failed twice.', family);
    case 'maker':
      return recovery(answers, "The maker's document asks for recovery.", family);
    default:
      return isRefused
        ? recovery(answers, `${why} It runs a newer build, and takes no older one in its running OS.`, family)
        : inOs(why, answers, family);
  }
}

const airInWords: Readonly<Record<string, string>> = {
  cannot: 'It cannot be online.',
  fails: 'Its own update fails.',
  nothing: 'Its own update finds nothing newer.',
  unknown: 'Nobody has looked whether it updates itself; look first, it may need no stick.',
};

function inOs(why: string, answers: Answers, family: Family | undefined): Way {
  const rules = family?.modes['in-os'];
  if (family !== undefined && rules === undefined)
    return recovery(
      answers,
      `${why} ${family.title} take no stick in their running OS, as the family file says.`,
      family,
    );
  const reason = `${why} It starts and its settings open, so a stick in its running OS is the mildest way.`;
  if (rules !== undefined && !rules['keeps-data'])
    return afterApproval(answers, `${reason} The family file says that it wipes the panel too.`, 'in-os');
  return { way: 'stick', mode: 'in-os', reason: `${reason} It keeps what is on it.`, todo: [] };
}

function recovery(answers: Answers, reason: string, family: Family | undefined): Way {
  if (family !== undefined && family.modes.recovery === undefined)
    return {
      way: 'stop-and-ask',
      reason: `${reason} ${family.title} have no recovery from a stick, as the family file says.`,
      todo: ['Ask the maker, with photographs of plate and screen, and the exact words on it.'],
    };
  return afterApproval(answers, `${reason} Recovery is what is left, and it wipes the panel.`, 'recovery');
}

/** Nobody is sent to a wipe that nobody approved, or over something worth keeping. */
function afterApproval(answers: Answers, reason: string, mode: Mode): Way {
  if (mayHoldSomething(answers)) return askWhatToKeep(reason);
  const by = answerTo(answers, 'way.approved')?.trim() ?? '';
  if (by === '')
    return {
      way: 'stop-and-ask',
      reason: `${reason} Nobody has approved that yet.`,
      todo: ['Have it approved by whoever answers for the room, then start this again.'],
    };
  return { way: 'stick', mode, reason: `${reason} EVERYTHING ON THE PANEL GOES; ${by} approved it.`, todo: [] };
}

/** Nobody has said that nothing on it is worth keeping. */
export const mayHoldSomething = (answers: Answers): boolean => answerTo(answers, 'way.keep') !== 'no';

export const askWhatToKeep = (reason: string): Extract<Way, { readonly way: 'stop-and-ask' }> => ({
  way: 'stop-and-ask',
  reason: `${reason} There may be something on it that is worth keeping.`,
  todo: [
    "Ask the owner what must be kept, and the maker's support whether it can be saved. A wipe is final.",
    'When that is settled, start this again.',
  ],
});
