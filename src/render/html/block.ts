import type { CardSizes } from './card-sizes.ts';
import { type Html, html } from './html.ts';
import { countLines, mmOfPt } from './text-width.ts';

/** A part of a card, and the height that it takes at most, with the gap after it. */
export interface Block {
  readonly html: Html;
  readonly heightMm: number;
}

/** Height of one line of running text. */
export const lineMm = (pt: number, { leading }: CardSizes): number => pt * mmOfPt * leading;

/** Between paragraphs, as a share of the gap between blocks; the style says the same. */
const paragraphShare = 0.5;

/** A paragraph that begins with a word in bold. */
export function runIn(kind: string, lead: string, text: string, sizes: CardSizes): Block {
  const lines = countLines(`${lead} ${text}`, sizes.widthMm - sizes.body * 0.03 * lead.length, sizes.body);
  return {
    html: html`<p class="${kind}"><b>${lead}</b> <span dir="auto">${text}</span></p>`,
    heightMm: lines * lineMm(sizes.body, sizes) + sizes.gapMm * paragraphShare,
  };
}

export const heightOf = (blocks: readonly Block[]): number => blocks.reduce((sum, { heightMm }) => sum + heightMm, 0);

/** For a style attribute. */
export const round = (value: number): number => Math.round(value * 100) / 100;
