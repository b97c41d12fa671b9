import type { BuildOrder } from '../../model/build.ts';
import { define, type NoFacts } from '../../model/catalogue-entry.ts';
import { countInWords, listInWords, sizeInWords } from '../../text/words.ts';

const practice = 'common practice, no source';
const nothingKept = 'Nothing was recorded.';

/** Findings about one record that somebody wants to make. */
const recordAnswerFindings = {
  'record/kept': define<{ id: string; what: string; who: string; at: string }>({
    severity: 'note',
    title: 'recorded',
    seen: ({ id, what, who, at }, subject) => `Recorded: ${subject}, ${what}, by ${who} at ${at} (${id}).`,
    why: 'It is written down and flushed.',
    todo: 'If it is wrong: stickwright round record --withdraw with this id.',
    source: practice,
  }),

  'record/room-unknown': define<{ near: readonly string[] }>({
    severity: 'stop',
    title: 'no such room in this round',
    seen: ({ near }, subject) =>
      near.length === 0
        ? `The round has no "${subject}".`
        : `The round has no "${subject}". Near it: ${near.map((one) => `"${one}"`).join(', ')}.`,
    why: 'A guess would note an update for a panel that nobody touched, and send somebody to the one that was done.',
    todo: `${nothingKept} Give the room as the list writes it, its asset tag, its serial, or scan the code on its card.`,
    noOverride: true,
    source: practice,
  }),

  'record/room-ambiguous': define<{ rooms: readonly string[] }>({
    severity: 'stop',
    title: 'several rooms or panels fit',
    seen: ({ rooms }, subject) => `"${subject}" may be any of these:\n${rooms.map((room) => `  ${room}`).join('\n')}`,
    why: 'The wrong one would count as done.',
    todo: `${nothingKept} Give more of it, the serial or the asset tag; or add --label or --serial as it stands on the panel.`,
    noOverride: true,
    source: practice,
  }),

  'record/label-differs': define<{ list: string; panel: string }>({
    severity: 'stop',
    title: 'the panel has another label than the list',
    seen: ({ list, panel }, subject) => `The label of ${subject} differs.\n  list   ${list}\n  panel  ${panel}`,
    why: 'A package that is made for the label in the list may be the wrong one for this panel. At the panel this is a reason to stop at once.',
    todo: `${nothingKept} Read the plate again, two people. If the list is wrong: correct it, plan the round again, and do not use this stick on it. If the panel was done all the same, record it with --accept record/label-differs --because "…".`,
    source: practice,
  }),

  'record/serial-differs': define<{ list: string; panel: string }>({
    severity: 'stop',
    title: 'the panel has another serial than the list',
    seen: ({ list, panel }, subject) => `The serial of ${subject} differs.\n  list   ${list}\n  panel  ${panel}`,
    why: 'It is perhaps another panel than the one that the plan means; its label may differ, too.',
    todo: `${nothingKept} Read the plate again. If the panel was exchanged, record it with --accept record/serial-differs --because "exchanged".`,
    source: practice,
  }),

  'record/build-unexpected': define<{
    build: string;
    target: string | null;
    steps: readonly string[];
    order: BuildOrder;
  }>({
    severity: 'stop',
    title: 'a build that this room should not have',
    seen: ({ build, target, steps, order }, subject) =>
      target === null
        ? `${subject} shows ${build}, but the plan has no target for it.`
        : `${subject} shows another build than planned.\n  shows     ${build}\n  expected  ${[...new Set([...steps, target])].join(', then ')}${orderWords(order, target)}`,
    why: 'Either it was typed wrong, or the panel took another package than planned: a wrong variant, a wrong stick, an update over the air.',
    todo: `${nothingKept} Read the About page again and type it once more. If it truly shows this: stop with this stick, and record it with --accept record/build-unexpected --because "…".`,
    source: practice,
  }),

  'record/build-unchanged': define<{ build: string; target: string | null }>({
    severity: 'stop',
    title: 'the build from before',
    seen: ({ build, target }, subject) =>
      `${subject} shows ${build}, the build that it had before${target === null ? '' : `; ${target} is expected`}.`,
    why: 'The update did not take. A panel that starts again in good order looks done, and is not.',
    todo: ({ build }) =>
      `${nothingKept} Record it as failed, with the words on its screen: --failed "still shows ${build}". That also shows the next step.`,
    source: practice,
  }),

  'record/not-yet': define<{ build: string | null; target: string | null; todo: readonly string[] }>({
    severity: 'caution',
    title: 'it has not updated itself yet',
    seen: ({ build, target }, subject) =>
      `${subject} ${build === null ? 'has not updated itself' : `shows ${build}`}${target === null ? '' : `; ${target} is expected`}.`,
    why: 'It stays to be looked at. Panels take their updates when they are on and left alone, often at night.',
    todo: ({ todo }) =>
      todo.length === 0
        ? 'Look at its About page again the next day.'
        : `As planned:\n${todo.map((step) => `  ${step}`).join('\n')}\nWhere its own update says that it failed, record that: --failed with its words.`,
    source: practice,
  }),

  'record/not-over-the-air': define<NoFacts>({
    severity: 'stop',
    title: 'this room was not to update itself',
    seen: (_, subject) => `The plan does not say of ${subject} that it updates itself.`,
    why: 'A room that waits for its stick is open until somebody was there with it.',
    todo: `${nothingKept} Where nothing was done there, record that with --skipped and why.`,
    noOverride: true,
    source: practice,
  }),

  'record/build-not-read': define<NoFacts>({
    severity: 'unproven',
    title: 'done, but no build was read',
    seen: (_, subject) => `${subject} is noted as done without the build on its About page.`,
    why: 'Only the build tells that an update took.',
    todo: 'Read the About page and record it with --build; the room does not count as done before.',
    source: practice,
  }),

  'record/step-reached': define<{ build: string; next: string; load: string; sticks: readonly string[] }>({
    severity: 'caution',
    title: 'on the way, not yet at the target',
    seen: ({ build, next, load, sticks }, subject) =>
      `${subject} has ${build}. Next comes ${next}: load ${load}${sticks.length === 0 ? ', of which no stick is prepared yet' : `, stick ${listInWords(sticks)}`}.`,
    why: 'It is a build on the way; the room is done with the last one only.',
    todo: ({ load, sticks }) =>
      sticks.length === 0
        ? `Prepare it: stickwright round prepare --load ${load}. Then go on at this panel.`
        : 'Go on at this panel with that stick, after comparing label and tag.',
    source: practice,
  }),

  'record/stick-unknown': define<{ near: readonly string[] }>({
    severity: 'caution',
    title: 'a stick that nobody noted as prepared',
    seen: ({ near }, subject) =>
      `No record says that stick ${subject} was prepared.${near.length === 0 ? '' : ` Near it: ${near.join(', ')}.`}`,
    why: 'What it brought to the panel is not known here; the package is not noted.',
    todo: 'Compare with the tag. If it was prepared at another desk, merge its records (stickwright round merge). If it was typed wrong, withdraw this line and record it anew.',
    source: practice,
  }),

  'record/stick-elsewhere': define<{
    load: string;
    build: string | null;
    due: string;
    dueLoad: string;
    dueSticks: readonly string[];
  }>({
    severity: 'stop',
    title: 'a stick that is not for this room',
    seen: ({ load, build, due, dueLoad, dueSticks }, subject) =>
      `Stick ${subject} carries load ${load} (${build ?? 'build not stated'}). This room takes load ${dueLoad} (${due})${dueSticks.length === 0 ? '' : `: stick ${listInWords(dueSticks)}`}.`,
    why: 'Either the code was typed wrong, or a package for other panels was in this one.',
    todo: `${nothingKept} Read the tag again. If this stick truly was in the panel: touch nothing more there, and record it with --accept record/stick-elsewhere --because "…".`,
    source: practice,
  }),

  'record/stick-assumed': define<{ load: string }>({
    severity: 'note',
    title: 'the stick was not named',
    seen: ({ load }, subject) => `Noted with stick ${subject}: the only one that carries load ${load}.`,
    why: 'What fails by stick is found only if the stick is noted.',
    todo: 'If it was another one, withdraw this line and record it anew with --stick.',
    source: practice,
  }),

  'record/stick-not-named': define<{ load: string; sticks: readonly string[] }>({
    severity: 'note',
    title: 'the stick was not named',
    seen: ({ load, sticks }, subject) =>
      `${subject}: noted without a stick. Load ${load} is on ${listInWords(sticks)}.`,
    why: 'What fails by stick is found only if the stick is noted.',
    todo: 'Next time add --stick with the code on the tag, or scan the card.',
    source: practice,
  }),

  'record/wiped-unapproved': define<NoFacts>({
    severity: 'caution',
    title: 'a wipe that nobody approved',
    seen: (_, subject) => `The update of ${subject} wipes the panel, and no approval is noted.`,
    why: 'A wipe is final. Whoever answers for the data must know of it.',
    todo: 'Tell them today, and note who approved it: stickwright round record with --approved-by.',
    source: practice,
  }),

  'record/wipe-assumed': define<NoFacts>({
    severity: 'caution',
    title: 'noted as wiped',
    seen: (_, subject) => `This way of updating wipes the panel, so ${subject} is noted as wiped although it failed.`,
    why: 'A recovery that stops in the middle has mostly erased everything already.',
    todo: 'If the panel still has its data, withdraw this line and record it anew with --not-wiped.',
    source: practice,
  }),

  'record/not-planned': define<{ state: string }>({
    severity: 'caution',
    title: 'the plan had nothing to do here',
    seen: ({ state }, subject) => `${subject} was not to be done in this round: ${state}.`,
    why: 'The line is kept, but what was brought to this panel is not in the plan.',
    todo: 'If another room was meant, withdraw this line and record that one.',
    source: practice,
  }),

  'record/failed-just-now': define<{ id: string; at: string }>({
    severity: 'stop',
    title: 'the same failure was recorded within the last minute',
    seen: ({ id, at }, subject) =>
      `${subject} has the same failure from ${at} (${id}), less than a minute before. It was not recorded again.`,
    why: 'Two failed tries end the ladder; one that is noted twice would end it too soon.',
    todo: 'If it is the same try, there is nothing to do. If the panel was really tried twice, record it with --accept record/failed-just-now --because "a second try".',
    source: practice,
  }),

  'record/same-again': define<{ id: string; at: string }>({
    severity: 'caution',
    title: 'the same was recorded a moment ago',
    seen: ({ id, at }, subject) => `${subject} has the same line from ${at} (${id}). Both count now.`,
    why: 'Two failed tries end the ladder; one that is noted twice would end it too soon.',
    todo: ({ id }) => `If it is the same try: stickwright round record --withdraw ${id} --because "noted twice".`,
    source: practice,
  }),

  'record/withdrawn': define<{ what: string; because: string }>({
    severity: 'note',
    title: 'withdrawn',
    seen: ({ what, because }, subject) => `${subject} no longer counts (${what}), because: ${because}`,
    why: 'The line stays in its file; this one beside it says why it does not count.',
    todo: 'Record what was right, if that is not done yet.',
    source: practice,
  }),

  'record/id-unknown': define<{ several: readonly string[] }>({
    severity: 'stop',
    title: 'no such line to withdraw',
    seen: ({ several }, subject) =>
      several.length === 0
        ? `No record that counts has the id ${subject}.`
        : `Several records begin with ${subject}: ${several.join(', ')}.`,
    why: 'The wrong line would stop counting.',
    todo: 'Nothing was withdrawn. Copy the id from the answer of round record, or from stickwright round status --json.',
    noOverride: true,
    source: practice,
  }),

  'record/withdrawal-not-withdrawn': define<NoFacts>({
    severity: 'stop',
    title: 'a withdrawal is not withdrawn',
    seen: (_, subject) => `${subject} is itself a withdrawal.`,
    why: 'Two people who withdraw each other’s lines would leave nobody knowing what counts.',
    todo: 'Nothing was recorded. Record the room again as it is.',
    noOverride: true,
    source: practice,
  }),
};

function orderWords(order: BuildOrder, target: string): string {
  if (order === 'newer') return `\n  It is newer than ${target}: perhaps an update over the air.`;
  return order === 'older' ? `\n  It is older than ${target}.` : '';
}

const others = 'The other rows were recorded.';

/** Findings about a filled-in list. */
const recordListFindings = {
  'record/list-without-headings': define<{ missing: readonly string[]; first: readonly string[] }>({
    severity: 'stop',
    title: 'the list cannot be read as a filled-in list',
    seen: ({ missing, first }, subject) =>
      `${subject} has no column for ${missing.join(' and none for ')}. Its headings: ${first.join(', ') || 'none'}.`,
    why: 'Without these columns nobody can tell which room was done and how it went.',
    todo: 'Nothing was recorded. Fill in the list that stickwright round export --csv writes, or give its headings: Room, Outcome, Build after, Done at, Who, Stick, Words.',
    noOverride: true,
    source: practice,
  }),

  'record/bad-cell': define<{ place: string; text: string; problem: string; mend: string }>({
    severity: 'stop',
    title: 'a row that cannot be used',
    seen: ({ place, text, problem }, subject) => `${subject}, ${place}: "${text}" ${problem}.`,
    why: `A guess would note something that nobody did. ${others}`,
    todo: ({ mend }) => `${mend} Then give the same list again: what is recorded already is not recorded twice.`,
    noOverride: true,
    source: practice,
  }),

  'record/bad-row': define<{ place: string; title: string; seen: string }>({
    severity: 'stop',
    title: 'a row that cannot be used',
    seen: ({ place, title, seen }, subject) => `${subject}, ${place}: ${title}. ${seen}`,
    why: `A guess would note something that nobody did. ${others}`,
    todo: 'Correct the row, or record the room by itself (stickwright round record ROOM). Then give the same list again: what is recorded already is not recorded twice.',
    noOverride: true,
    source: practice,
  }),

  'record/rows-empty': define<{ rows: number }>({
    severity: 'note',
    title: 'rows that are not filled in',
    seen: ({ rows }, subject) =>
      `${subject}: ${countInWords(rows, 'row has', 'rows have')} no outcome and no build, and stay open.`,
    why: 'Nothing was noted there.',
    todo: 'Nothing.',
    source: practice,
  }),

  'record/rows-known': define<{ rows: number }>({
    severity: 'note',
    title: 'recorded before',
    seen: ({ rows }, subject) =>
      `${subject}: ${countInWords(rows, 'row says', 'rows say')} what is recorded already; not recorded twice.`,
    why: 'The same list may be given as often as one likes.',
    todo: 'If a room was done a second time with the same words, give the times of both.',
    source: practice,
  }),

  'record/rows-withdrawn': define<{ rows: number }>({
    severity: 'caution',
    title: 'rows whose line was withdrawn',
    seen: ({ rows }, subject) =>
      `${subject}: ${countInWords(rows, 'row says', 'rows say')} what was recorded and then withdrawn; left out.`,
    why: 'A line that was withdrawn does not come back by giving the same list again.',
    todo: 'If the row is right after all, record the room by itself: stickwright round record ROOM.',
    source: practice,
  }),

  'record/time-assumed': define<{ rows: number; at: string }>({
    severity: 'note',
    title: 'rows without a time',
    seen: ({ rows, at }, subject) => `${subject}: ${countInWords(rows, 'row has', 'rows have')} no time and got ${at}.`,
    why: 'The later of two visits of a room counts.',
    todo: 'If the work was done at another time, give --at with the list, or fill in the column Done at.',
    source: practice,
  }),
};

/** Findings about what was done in a round: one record, a filled-in list, the round as a whole. */
export const recordFindings = {
  ...recordAnswerFindings,
  ...recordListFindings,

  'record/disagreement': define<{
    first: { who: string; at: string; said: string };
    second: { who: string; at: string; said: string };
  }>({
    severity: 'unproven',
    title: 'two people disagree about a room',
    seen: ({ first, second }, subject) =>
      `${subject}: ${first.who} says ${first.said} (${first.at}); ${second.who} says ${second.said} (${second.at}).`,
    why: 'There is less time between the two than one update takes, so one of them is about another panel, or wrong. Until that is known nobody can say what this panel runs.',
    todo: 'Ask both, or read the About page once more; then withdraw the wrong line (stickwright round record --withdraw ID --because "…") or record the room anew.',
    source: practice,
  }),

  'record/stick-unproven': define<{ load: string; codes: readonly string[] }>({
    severity: 'unproven',
    title: 'a prepared stick of which something was not proven',
    seen: ({ load, codes }, subject) => `Stick ${subject}, load ${load}: ${codes.join(', ')}.`,
    why: 'Nothing was wrong when it was prepared, but something that matters at the panel could not be checked.',
    todo: ({ load }, subject) =>
      `stickwright explain with the code says what settles it; then prepare ${subject} once more: stickwright round prepare --load ${load}.`,
    source: practice,
  }),

  'record/unclear-room': define<{ build: string | null; target: string | null; who: string }>({
    severity: 'unproven',
    title: 'a room that is said to be done, without proof',
    seen: ({ build, target, who }, subject) =>
      build === null
        ? `${subject} is done, says ${who}, but nobody noted the build on its About page.`
        : `${subject} is done, says ${who}, but shows ${build}${target === null ? '; the plan has no target for it' : ` instead of ${target}`}.`,
    why: 'Only the build on the About page tells that an update took; an old build that was written again looks fine, too.',
    todo: ({ target }, subject) =>
      `Read the About page of ${subject} and record what it shows${target === null ? '' : ` (${target} is expected)`}: stickwright round record with --build.`,
    source: practice,
  }),

  'record/damaged-line': define<{ line: number; problem: string }>({
    severity: 'caution',
    title: 'a line that is not whole',
    seen: ({ line, problem }, subject) => `Line ${line} of ${subject} does not count: ${problem}.`,
    why: 'Whoever wrote it was cut off (then nothing was confirmed to them), or somebody changed the file by hand. All other lines count.',
    todo: 'Look at the line, and record the room again if it is missing in stickwright round status. The line stays where it is.',
    source: practice,
  }),

  'record/room-gone': define<{ who: string; at: string; what: string }>({
    severity: 'caution',
    title: 'a record of a room that the plan does not have',
    seen: ({ who, at, what }, subject) =>
      `${subject}: ${what}, by ${who} at ${at}. The plan of today has no such room.`,
    why: 'The list was changed since, or the record comes from another round. It is kept, but counts for no room.',
    todo: 'If the room was only renamed, record it under its new name; if the record is of another round, nothing is to be done.',
    source: practice,
  }),

  'record/fails-repeatedly': define<{
    by: 'variant' | 'stick' | 'package';
    failures: number;
    tries: number;
    rooms: readonly string[];
  }>({
    severity: 'caution',
    title: 'the same thing fails more than once',
    seen: ({ by, failures, tries, rooms }, subject) =>
      `${repeatWords[by]} ${subject}: ${failures} of ${countInWords(tries, 'try', 'tries')} failed, in ${listInWords(rooms)}.`,
    why: 'What fails in several rooms is seldom the room: going on costs a walk each, and a panel at worst.',
    todo: ({ by }) => repeatAdvice[by],
    source: practice,
  }),

  'record/families-missing': define<{ problem: string }>({
    severity: 'unproven',
    title: 'builds can only be compared letter by letter',
    seen: ({ problem }) => `The family files of this round cannot be used here: ${problem}`,
    why: 'V1.02 and 1.2 may be one build; without the family only equal texts count as equal.',
    todo: 'Set STICKWRIGHT_FAMILIES, or put the family files where the plan had them, and run it again.',
    source: practice,
  }),

  'record/exported': define<{ bytes: number }>({
    severity: 'note',
    title: 'written',
    seen: ({ bytes }, subject) => `Written: ${subject}, ${sizeInWords(bytes)}.`,
    why: 'What was done, for whoever keeps the list.',
    todo: 'Nothing.',
    source: practice,
  }),

  'record/merged': define<{ added: number; known: number }>({
    severity: 'note',
    title: 'records taken in',
    seen: ({ added, known }, subject) =>
      `${subject}: ${countInWords(added, 'new line')} taken in, ${countInWords(known, 'line was', 'lines were')} there already.`,
    why: 'Every line is kept once, in whichever order folders come back.',
    todo: 'Nothing; the other folder was not changed.',
    source: practice,
  }),
};

const repeatWords = { variant: 'Panels of', stick: 'Stick', package: 'Package' };

const repeatAdvice = {
  variant:
    'Stop with this variant. Read one of the labels again with a second person, compare the release note, and ask the maker before the next room.',
  stick: 'Take this stick out of the round: stickwright verify, and prepare another one in its place.',
  package:
    "Stop with this package. Compare its SHA-256 with the maker's page, download it anew, and ask the maker before the next room.",
};
