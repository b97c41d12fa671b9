import { titleOf } from '../../core/findings/doubts.ts';
import { modeTraits } from '../../core/model/mode.ts';
import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { alwaysMind, stopAtOnce } from '../../core/rounds/plan/usual-practice.ts';
import { type Block, type CardSizes, runIn } from './card-sizes.ts';
import { boxed, line } from './draw-marks.ts';
import { html, nothing } from './html.ts';

/** What holds for this room and this stick alone: its place in a row of sticks, what the list notes of it. */
export function noteBlocks(
  { step, steps, nextLoad, because, buildBefore, room }: RoomCard,
  sizes: CardSizes,
): readonly Block[] {
  const order = [
    ...(step > 1 ? [`Only when the About page shows ${buildBefore ?? 'the build of the stick before'}.`] : []),
    ...(nextLoad === null ? [] : [`Then the card with load ${nextLoad}.`]),
    ...(because === null ? [] : [`Why: ${because}.`]),
  ].join(' ');
  return [
    ...(steps > 1
      ? [runIn('order', `Stick ${step} of ${steps}.`, order, sizes, buildBefore === null ? [] : [buildBefore])]
      : []),
    ...(room.notes === null ? [] : [runIn('note', 'Note:', room.notes, sizes)]),
  ];
}

/** What the desk could not prove stands where it cannot be overlooked. */
export const doubtBlocks = ({ unproven }: RoomCard, sizes: CardSizes): readonly Block[] =>
  unproven.length === 0 ? [] : [runIn('mind', 'NOT PROVEN:', `${unproven.map(titleOf).join('; ')}.`, sizes)];

export const portBlock = ({ load }: RoomCard, sizes: CardSizes): Block =>
  runIn('port', 'Port:', load.panel.port, sizes);

/** In the running system a person picks the file out of a list; in recovery the panel finds what lies at the root. */
export const pickBlocks = ({ load }: RoomCard, sizes: CardSizes): readonly Block[] =>
  modeTraits[load.mode].isExtracted
    ? []
    : [runIn('pick', 'File to pick:', load.package.name, sizes, [load.package.name])];

export const cautionBlocks = ({ load }: RoomCard, sizes: CardSizes): readonly Block[] => [
  runIn('mind', 'Safety:', alwaysMind.join(' '), sizes),
  ...(load.panel.cautions.length > 0 ? [runIn('mind', 'Mind:', load.panel.cautions.join(' '), sizes)] : []),
];

export const stopBlock = (sizes: CardSizes): Block => runIn('stop', 'Stop at once:', `${stopAtOnce}.`, sizes);

/** The first rungs of the ladder (common practice, no source). */
export const ifItFails =
  'photograph the screen and write down its words. Verify the stick; then another port; then another verified stick. After two whole tries stop, and ask the maker.';

export const failBlock = (sizes: CardSizes): Block => runIn('fail', 'If it fails:', ifItFails, sizes);

/** Height of the field for the words on the screen: two lines to write on, or one where room is short. */
export const outcomeMm = ({ writeMm, short }: CardSizes): number => Math.round(writeMm * (short ? 1.3 : 2) * 10) / 10;

const stickRecord = {
  cells: ['Start', 'End', 'Build after', 'Initials'],
  outcomes: ['done', 'failed', 'skipped'],
  words: 'exact words on the screen, or why skipped',
};

/** Boxes and lines for what was done; of a visit with a stick, if nothing else is said. */
export function recordBlock(sizes: CardSizes, { cells, outcomes, words } = stickRecord): Block {
  const boxes = outcomes.map((name) => html`<span>${boxed(name)}</span> `);
  return {
    html: html`<section class="record" aria-label="What was done"><div class="record-row">${cells.map(
      (name) => html`<div><span class="kicker">${name}</span></div>`,
    )}</div>
<div class="record-row outcome"><p>${boxes}</p><p class="kicker">${words}</p>${line}${sizes.short ? nothing : line}</div></section>`,
    heightMm: sizes.writeMm + outcomeMm(sizes) + 1.3 + sizes.gapMm,
  };
}
