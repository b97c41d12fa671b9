import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { factsBlock } from './card-facts.ts';
import { headBlocks } from './card-head.ts';
import { besideBlock, flowBlock, type List, listBlock, listsOf, wipeBlock } from './card-lists.ts';
import {
  type Block,
  type CardPage,
  type CardSizes,
  cardSizes,
  heightOf,
  lineMm,
  type Paper,
  sheetLineMm,
} from './card-sizes.ts';
import {
  cautionBlocks,
  doubtBlocks,
  failBlock,
  noteBlocks,
  pickBlocks,
  portBlock,
  recordBlock,
  stopBlock,
} from './card-words.ts';
import { drawCode, drawHatch } from './draw-marks.ts';
import { type Html, html, nothing } from './html.ts';
import { countLines, mmOfPt } from './text-width.ts';

/**
 * The pages of a card: one, in the largest sizes that hold all of it. Where even the smallest readable sizes do not, it
 * goes on visibly on further pages that repeat room, label and stick; nothing is ever cut off or left out.
 */
export function layOutCard(card: RoomCard, paper: Paper): readonly CardPage[] {
  const code = drawCode(card.code, `Code for scanners: ${card.code}`);
  for (const sizes of cardSizes[paper]) {
    const body = [...frontOf(card, code, sizes), ...middleOf(card, sizes)];
    const foot = footOf(sizes);
    if (heightOf([...body, ...foot]) <= sizes.heightMm - sheetLineMm(sizes)) return [{ sizes, body, foot }];
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
    ...pickBlocks(card, sizes),
  ].filter((block) => block !== undefined);

function middleOf(card: RoomCard, sizes: CardSizes): readonly Block[] {
  const { steps, never, after } = listsOf(card);
  return [
    listBlock(steps, 0, steps.items, sizes.widthMm, sizes),
    ...(sizes.dense ? [flowBlock(never, sizes), flowBlock(after, sizes)] : [besideBlock([never, after], sizes)]),
  ];
}

const footOf = (sizes: CardSizes): readonly Block[] => [stopBlock(sizes), recordBlock(sizes), failBlock(sizes)];

/** A card over several pages, block after block; lists are broken between their items. */
function packCard(
  card: RoomCard,
  front: readonly Block[],
  foot: readonly Block[],
  sizes: CardSizes,
): readonly CardPage[] {
  const pages: Block[][] = [[]];
  const page = (): Block[] => pages.at(-1) ?? [];
  const leftMm = (): number => sizes.heightMm - sheetLineMm(sizes) - heightOf(page());
  /** Turns the page for what does not fit, unless this one has nothing but its head: then nothing would be won. */
  const makeRoomFor = (heightMm: number): void => {
    if (heightMm > leftMm() && page().length > 1) pages.push([continuedBlock(card, sizes)]);
  };
  const place = (block: Block): void => {
    makeRoomFor(block.heightMm);
    page().push(block);
  };
  const placeList = (list: List): void => {
    for (let first = 0; first < list.items.length; ) {
      const blockOf = (count: number) =>
        listBlock(list, first, list.items.slice(first, first + count), sizes.widthMm, sizes);
      makeRoomFor(blockOf(1).heightMm);
      let count = 1;
      while (first + count < list.items.length && blockOf(count + 1).heightMm <= leftMm()) count++;
      page().push(blockOf(count));
      first += count;
    }
  };

  for (const block of front) place(block);
  const { steps, never, after } = listsOf(card);
  for (const list of [steps, never, after]) placeList(list);
  makeRoomFor(heightOf(foot));
  return pages.map((blocks, index) => ({
    sizes,
    body: blocks,
    foot: index === pages.length - 1 ? foot : [],
  }));
}

/** Height of the bars above it on a card that wipes; the style says the same. */
const stripMm = 3;

/** The head of a card's further pages: enough to know whose they are. */
function continuedBlock({ room, load, sticks }: RoomCard, sizes: CardSizes): Block {
  const { wipes } = load;
  const whose = `Stick ${sticks[0] ?? '________'}, load ${load.id}, ${room.label}${wipes ? '. THIS WIPES THE PANEL' : ''}`;
  const roomMm = countLines(room.room, sizes.widthMm, sizes.key, 'bold') * sizes.key * mmOfPt * 1.1;
  const whoseMm = countLines(whose, sizes.widthMm, sizes.body, 'bold') * lineMm(sizes.body, sizes);
  return {
    html: html`<header class="again">${wipes ? html`<div class="strip">${drawHatch('bars')}</div>` : nothing}
<h2 dir="auto" style="font-size:${sizes.key}pt">${room.room}</h2><p><b>${whose}</b></p></header>`,
    heightMm: roomMm + whoseMm + (wipes ? stripMm : 0) + sizes.gapMm + 2,
  };
}
