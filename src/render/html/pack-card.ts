import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { type Block, heightOf, lineMm } from './block.ts';
import { type List, listBlock, listsOf } from './card-lists.ts';
import type { CardPage } from './card-page.ts';
import type { CardSizes } from './card-sizes.ts';
import { drawHatch } from './draw-marks.ts';
import { html, nothing } from './html.ts';
import { countLines, mmOfPt } from './text-width.ts';

/** A card over several pages, block after block; lists are broken between their items. */
export function packCard(
  card: RoomCard,
  front: readonly Block[],
  foot: readonly Block[],
  sizes: CardSizes,
): readonly CardPage[] {
  const pages: Block[][] = [[]];
  const page = (): Block[] => pages.at(-1) ?? [];
  const leftMm = (): number => sizes.heightMm - lineMm(sizes.body, sizes) - heightOf(page());
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
