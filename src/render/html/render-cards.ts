import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import type { CardPage } from './card-page.ts';
import { cardSizes, type Paper } from './card-sizes.ts';
import { cardStyle, sizesInStyle } from './card-style.ts';
import { type Html, html, nothing } from './html.ts';
import { layOutCard } from './lay-out-card.ts';
import { pageDocument } from './page-document.ts';

export interface RenderedCards {
  readonly page: string;
  /** Pages that each card takes, in their order. */
  readonly pages: readonly number[];
}

/** The room cards as one page to print, a sheet each. */
export function renderCards(cards: readonly RoomCard[], name: string, paper: Paper): RenderedCards {
  const laidOut = cards.map((card) => layOutCard(card, paper));
  const [sizes] = cardSizes[paper];
  if (sizes === undefined) throw new TypeError(`no sizes for ${paper}`);
  const none = laidOut.length === 0 ? html`<p>No room here takes a stick.</p>` : nothing;
  const main = html`<main>${none}${laidOut.map((pages, index) => pages.map((page, at) => sheet(cards[index], page, at, pages.length)))}</main>`;
  return {
    page: pageDocument(`Room cards, ${name}`, cardStyle(sizes), main),
    pages: laidOut.map(({ length }) => length),
  };
}

function sheet(card: RoomCard | undefined, { sizes, body, foot }: CardPage, at: number, of: number): Html {
  const name = `${card?.room.key}, load ${card?.load.id}${of > 1 ? `, page ${at + 1} of ${of}` : ''}`;
  return html`<article class="card${sizes.dense ? ' dense' : ''}" style="${sizesInStyle(sizes)}" aria-label="${name}">
${body.map((block) => block.html)}
<div class="foot">${foot.map((block) => block.html)}</div>${of > 1 ? html`<p class="pages">page ${at + 1} of ${of}</p>` : nothing}
</article>
`;
}
