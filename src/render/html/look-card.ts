import type { LookCard } from '../../core/rounds/cards/make-cards.ts';
import { alwaysMind } from '../../core/rounds/plan/usual-practice.ts';
import { lookFactsBlock } from './card-facts.ts';
import { headBlocks } from './card-head.ts';
import { type List, listBlock } from './card-lists.ts';
import {
  type Block,
  type CardPage,
  type CardSizes,
  cardSizes,
  heightOf,
  type Paper,
  round,
  runIn,
  sheetLineMm,
} from './card-sizes.ts';
import { recordBlock, stopBlock } from './card-words.ts';
import { drawCode } from './draw-marks.ts';
import { type Html, html } from './html.ts';
import { countLines, mmOfPt } from './text-width.ts';

/**
 * The pages of a card for a room that updates itself: one, in the largest sizes that hold it; else a second one for the
 * steps, with the room on it again. Nothing is left out.
 */
export function layOutLook(card: LookCard, paper: Paper): readonly CardPage[] {
  const code = drawCode(card.code, `Code for scanners: ${card.code}`);
  let last: readonly CardPage[] = [];
  for (const sizes of cardSizes[paper]) {
    const foot = [stopBlock(sizes), recordBlock(sizes, lookRecord)];
    const front = frontOf(card, code, sizes);
    const steps = listBlock(stepsOf(card), 0, card.todo, sizes.widthMm, sizes);
    if (heightOf([...front, steps, ...foot]) <= sizes.heightMm - sheetLineMm(sizes)) {
      return [{ sizes, body: [...front, steps], foot }];
    }
    last = [
      { sizes, body: front, foot: [] },
      { sizes, body: [...headBlocks(card, code, sizes), steps], foot },
    ];
  }
  return last;
}

const lookRecord = {
  cells: ['Looked at', 'Build shown', 'Initials'],
  outcomes: ['updated', 'not yet', 'failed', 'skipped'],
  words: 'its exact words, or why skipped',
};

const stepsOf = ({ todo }: LookCard): List => ({ kind: 'steps', title: 'Steps', items: todo });

const frontOf = (card: LookCard, code: Html, sizes: CardSizes): readonly Block[] => [
  ...headBlocks(card, code, sizes),
  noStickBlock(sizes),
  lookFactsBlock(card, sizes),
  runIn('note', 'Why:', card.reason, sizes),
  ...(card.room.notes === null ? [] : [runIn('note', 'Note:', card.room.notes, sizes)]),
  runIn('mind', 'Safety:', alwaysMind.join(' '), sizes),
];

const words = 'NO STICK: it updates itself; look later';

/** The first thing to know of it, where other cards name their stick. */
function noStickBlock(sizes: CardSizes): Block {
  const pt = round(sizes.key * 1.1);
  return {
    html: html`<h3 class="no-stick" style="font-size:${pt}pt">${words}</h3>`,
    heightMm: countLines(words, sizes.widthMm - 5, pt, 'bold') * pt * mmOfPt * 1.15 + 2.4 + sizes.gapMm,
  };
}
