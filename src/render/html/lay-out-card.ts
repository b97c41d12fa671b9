import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { type Block, heightOf } from './block.ts';
import { factsBlock } from './card-facts.ts';
import { headBlocks } from './card-head.ts';
import { besideBlock, flowBlock, listBlock, listsOf } from './card-lists.ts';
import type { CardPage } from './card-page.ts';
import { type CardSizes, cardSizes, type Paper } from './card-sizes.ts';
import { wipeBlock } from './card-wipe.ts';
import { cautionBlocks, doubtBlocks, failBlock, noteBlocks, portBlock, recordBlock, stopBlock } from './card-words.ts';
import { drawCode } from './draw-code.ts';
import type { Html } from './html.ts';
import { packCard } from './pack-card.ts';

/**
 * The pages of a card: one, in the largest sizes that hold all of it. Where even the smallest readable sizes do not, it goes on visibly
 * on further pages that repeat room, label and stick; nothing is ever cut off or left out.
 */
export function layOutCard(card: RoomCard, paper: Paper): readonly CardPage[] {
  const code = drawCode(card.code, `Code for scanners: ${card.code}`);
  for (const sizes of cardSizes[paper]) {
    const body = [...frontOf(card, code, sizes), ...middleOf(card, sizes)];
    const foot = footOf(sizes);
    if (heightOf([...body, ...foot]) <= sizes.heightMm) return [{ sizes, body, foot }];
  }
  const packed = cardSizes[paper].map((sizes) => packCard(card, frontOf(card, code, sizes), footOf(sizes), sizes));
  const fewest = Math.min(...packed.map(({ length }) => length));
  return packed.find(({ length }) => length === fewest) ?? [];
}

/** In the order of need: whose it is, what it does, what to mind, where the stick goes. */
const frontOf = (card: RoomCard, code: Html, sizes: CardSizes): readonly Block[] =>
  [
    ...headBlocks(card, code, sizes),
    factsBlock(card, sizes),
    wipeBlock(card, sizes),
    ...doubtBlocks(card, sizes),
    ...noteBlocks(card, sizes),
    ...cautionBlocks(card, sizes),
    portBlock(card, sizes),
  ].filter((block) => block !== undefined);

function middleOf(card: RoomCard, sizes: CardSizes): readonly Block[] {
  const { steps, never, after } = listsOf(card);
  return [
    listBlock(steps, 0, steps.items, sizes.widthMm, sizes),
    ...(sizes.dense ? [flowBlock(never, sizes), flowBlock(after, sizes)] : [besideBlock([never, after], sizes)]),
  ];
}

const footOf = (sizes: CardSizes): readonly Block[] => [stopBlock(sizes), recordBlock(sizes), failBlock(sizes)];
