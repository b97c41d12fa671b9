import type { Family } from '../model/family.ts';
import type { Mode } from '../model/mode.ts';
import { type Answers, answerTo, firstOpen, type Question } from './question.ts';

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
}

const starts: Question = {
  id: 'way.starts',
  kind: 'choice',
  text: 'Does the panel start, up to its home screen?',
  choices: [
    { value: 'yes', name: 'yes' },
    { value: 'no', name: 'no: dark, stuck, or starting again and again' },
    { value: 'unknown', name: 'nobody has looked yet' },
  ],
};

const air: Question = {
  id: 'way.air',
  kind: 'choice',
  text: 'What does its own update over the network say?',
  choices: [
    { value: 'cannot', name: 'it cannot be online' },
    { value: 'fails', name: 'it finds an update, but fails at it' },
    { value: 'nothing', name: 'it finds nothing newer' },
    { value: 'offers', name: 'it offers an update' },
    { value: 'offline', name: 'it is not online now, but could be' },
    { value: 'unknown', name: 'nobody has looked yet' },
  ],
};

const settings: Question = {
  id: 'way.settings',
  kind: 'choice',
  text: 'Can somebody open its settings (sign in, passcode)?',
  choices: [
    { value: 'yes', name: 'yes' },
    { value: 'failed-twice', name: 'yes, but updating from a stick there failed twice, completely' },
    { value: 'maker', name: "yes, but the maker's document asks for recovery" },
    { value: 'no', name: 'no' },
  ],
};

const keep: Question = {
  id: 'way.keep',
  kind: 'choice',
  text: 'Recovery wipes the panel. Is anything on it worth keeping?',
  choices: [
    { value: 'no', name: 'no, or all of it is copied off' },
    { value: 'yes', name: 'yes' },
    { value: 'unknown', name: 'nobody knows' },
  ],
};

const approved: Question = {
  id: 'way.approved',
  kind: 'line',
  text: 'Who approved the wipe (a name; empty: nobody yet)?',
  mayBeEmpty: true,
};

/** What must still be asked about a panel of this family; undefined where the way is known. */
export function nextWayQuestion(
  answers: Answers,
  family: Family | undefined,
  isDowngrade = false,
): Question | undefined {
  const questions = [starts];
  const start = answerTo(answers, starts.id);
  if (start === 'yes') {
    questions.push(air);
    if (!['offers', 'offline'].includes(answerTo(answers, air.id) ?? '')) questions.push(settings);
  }
  if (wipes(answers, family, isDowngrade)) {
    questions.push(keep);
    if (answerTo(answers, keep.id) === 'no') questions.push(approved);
  }
  return firstOpen(questions, answers);
}

function wipes(answers: Answers, family: Family | undefined, isDowngrade: boolean): boolean {
  const start = answerTo(answers, starts.id);
  if (start !== 'yes') return start === 'no';
  const opens = answerTo(answers, settings.id);
  const rules = family?.modes['in-os'];
  const wipesInOs =
    family !== undefined && (rules?.['keeps-data'] !== true || (isDowngrade && refusesDowngrade(family)));
  return opens === 'failed-twice' || opens === 'maker' || (opens === 'yes' && wipesInOs);
}

const refusesDowngrade = (family: Family | undefined): boolean => family?.modes['in-os']?.['takes-downgrade'] === false;

/**
 * The way, with its reason and what to do; the questions above must have been answered. What no family says is not
 * claimed: waits and ports are those of the maker's document.
 */
export function wayOf(answers: Answers, { family, target, isDowngrade = false }: PanelKnown): Way {
  const expected = target === undefined ? '' : ` Build ${target} is what to expect.`;
  switch (answerTo(answers, starts.id)) {
    case 'unknown':
      return {
        way: 'stop-and-ask',
        reason: 'Nobody has looked at the panel yet.',
        todo: ['Switch it on and see whether it starts. It may update itself, and then no stick is needed.'],
      };
    case 'no':
      return recovery(answers, 'It does not start, so nothing in its OS can update it.', family);
    default:
      return runningPanel(answers, family, expected, isDowngrade);
  }
}

function runningPanel(answers: Answers, family: Family | undefined, expected: string, isDowngrade: boolean): Way {
  const found = answerTo(answers, air.id);
  if (found === 'offers' || found === 'offline')
    return {
      way: 'over-the-air',
      reason:
        found === 'offers'
          ? 'Its own update offers something: that is the mildest way, and it needs no stick.'
          : 'It could be online, and its own update keeps everything and needs no stick.',
      todo: [
        ...(found === 'offers' ? ['Let it update itself, and leave its power alone meanwhile.'] : []),
        ...(family?.['over-the-air']?.steps ?? (found === 'offers' ? [] : [onTheNetwork])),
        `Look at its About page again ${whenToLook(family)}.${expected}`,
        'Only if it still runs the old build then: start this again, and say what its update says.',
      ],
    };
  const why = airInWords[found ?? ''] ?? '';
  switch (answerTo(answers, settings.id)) {
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
      return isDowngrade && refusesDowngrade(family)
        ? recovery(answers, `${why} It runs a newer build, and takes no older one in its running OS.`, family)
        : inOs(why, answers, family);
  }
}

/** As the family says; else the next day, which claims nothing of the panel. */
function whenToLook(family: Family | undefined): string {
  const hours = family?.['over-the-air']?.hours;
  return hours === undefined ? 'the next day' : `after ${hours.from} to ${hours.to} hours`;
}

const onTheNetwork =
  'Put it on the network, and switch its automatic update on. A wall socket for network data will do, or a guest network.';

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
  if (answerTo(answers, keep.id) !== 'no')
    return {
      way: 'stop-and-ask',
      reason: `${reason} There may be something on it that is worth keeping.`,
      todo: [
        "Ask the owner what must be kept, and the maker's support whether it can be saved. A wipe is final.",
        'When that is settled, start this again.',
      ],
    };
  const by = answerTo(answers, approved.id)?.trim() ?? '';
  if (by === '')
    return {
      way: 'stop-and-ask',
      reason: `${reason} Nobody has approved that yet.`,
      todo: ['Have it approved by whoever answers for the room, then start this again.'],
    };
  return { way: 'stick', mode, reason: `${reason} EVERYTHING ON THE PANEL GOES; ${by} approved it.`, todo: [] };
}
