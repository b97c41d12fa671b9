import type { BuildOrder } from '../../model/build.ts';
import { define, type NoFacts } from '../define.ts';
import { listInWords } from '../words.ts';

const practice = 'common practice, no source';
const nothingKept = 'Nothing was recorded.';

/** Findings about one record that somebody wants to make. */
export const recordAnswerFindings = {
  'record/kept': define<{ id: string; what: string; who: string; at: string }>({
    severity: 'note',
    title: 'recorded',
    seen: ({ id, what, who, at }, subject) => `Recorded: ${subject}, ${what}, by ${who} at ${at}. (${id})`,
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
    seen: ({ list, panel }, subject) => `${subject}\n  list   ${list}\n  panel  ${panel}`,
    why: 'A package that is made for the label in the list may be the wrong one for this panel. At the panel this is a reason to stop at once.',
    todo: `${nothingKept} Read the plate again, two people. If the list is wrong: correct it, plan the round again, and do not use this stick on it. If the panel was done all the same, record it with --accept record/label-differs --because "…".`,
    source: practice,
  }),

  'record/serial-differs': define<{ list: string; panel: string }>({
    severity: 'stop',
    title: 'the panel has another serial than the list',
    seen: ({ list, panel }, subject) => `${subject}\n  list   ${list}\n  panel  ${panel}`,
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
        : `${subject} shows ${build}\n  expected  ${[...new Set([...steps, target])].join(', then ')}${orderWords(order, target)}`,
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
