import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { type Block, lineMm, round } from './block.ts';
import type { CardSizes } from './card-sizes.ts';
import { box, drawHatch, line } from './draw-marks.ts';
import { html } from './html.ts';
import { countLines, mmOfPt } from './text-width.ts';

/** Width of the slanted bars on either side. */
const hatchMm = ({ paper }: CardSizes): number => (paper === 'a6' ? 5 : 8);

/** The loudest thing on a card, where it applies: told by frame, bars and words, not by colour. */
export function wipeBlock({ load, approval }: RoomCard, sizes: CardSizes): Block | undefined {
  if (!load.wipes) return undefined;
  const columnMm = sizes.widthMm - 2 * hatchMm(sizes) - 6;
  const pt = round(sizes.key * 1.3);
  const hatch = html`<div class="bars" style="width:${hatchMm(sizes)}mm">${drawHatch('bars')}</div>`;
  const by =
    approval === null
      ? html`Approved by ${line} <b>${missing(sizes)}</b>`
      : html`Approved by <b><bdi>${approval}</bdi></b>`;
  const ticks = checks.map((text) => html`<span class="tick">${box} ${text}</span> `);
  return {
    html: html`<section class="wipe">${hatch}<div class="wipe-text"><h3 style="font-size:${pt}pt">THIS WIPES THE PANEL</h3>${
      sizes.short ? html`<p>${by} ${ticks}</p>` : html`<p>${lost}</p><p>${by}</p><p>${ticks}</p>`
    }</div>${hatch}</section>`,
    heightMm: pt * mmOfPt * 1.1 + linesOf(approval, columnMm, sizes) * lineMm(sizes.body, sizes) + 4 + sizes.gapMm,
  };
}

const lost = 'Everything on it goes for good: boards, recordings, accounts, apps, network identity.';
const checks = ['what is worth keeping is copied off', "the room's users know"];
const missing = ({ short }: CardSizes): string =>
  short ? 'None noted: do not start.' : 'No approval is noted: do not start without one.';

function linesOf(approval: string | null, columnMm: number, sizes: CardSizes): number {
  const by = `Approved by ${approval ?? `____________________ ${missing(sizes)}`}`;
  const ticks = checks.map((text) => `___ ${text}`).join('    ');
  const texts = sizes.short ? [`${by} ${ticks}`] : [lost, by, ticks];
  return texts.reduce((sum, text) => sum + countLines(text, columnMm, sizes.body, 'bold'), 0);
}
