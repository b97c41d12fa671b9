import type { RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { type Block, type CardSizes, kickerOf, lineMm, round } from './card-sizes.ts';
import { box, boxed, drawHatch, line } from './draw-marks.ts';
import { type Html, html, nothing } from './html.ts';
import { countLines, mmOfPt } from './text-width.ts';

export interface List {
  readonly kind: 'steps' | 'never' | 'after';
  readonly title: string;
  readonly items: readonly string[];
}

export const listsOf = ({ load: { panel } }: RoomCard) => ({
  steps: { kind: 'steps', title: 'Steps', items: panel.steps } as const satisfies List,
  never: { kind: 'never', title: 'Never', items: panel.never } as const satisfies List,
  after: { kind: 'after', title: 'Afterwards', items: panel.after } as const satisfies List,
});

/** Space after each item of a list. */
const itemMm = 0.4;
const titleRuleMm = 0.4;
/** What the frame of a box adds to its line. */
const boxMm = 0.15;

const indentEm = { steps: 2, never: 1.3, after: 1.6 };

/** Some items of a list, from FIRST (from 0) on, one below the other in a column. */
export function listBlock(
  list: List,
  first: number,
  items: readonly string[],
  columnMm: number,
  sizes: CardSizes,
): Block {
  const textMm = columnMm - indentEm[list.kind] * sizes.body * mmOfPt;
  // Numbers in boxes need no title.
  const hasTitle = !(sizes.short && list.kind === 'steps' && first === 0);
  const itemsMm = items.map(
    (text) => countLines(text, textMm, sizes.body) * lineMm(sizes.body, sizes) + itemMm + boxMm,
  );
  return {
    html: html`<section class="list ${list.kind}">${hasTitle ? titleOf(list, first) : nothing}<ol>${items.map(
      (text, index) => html`<li>${markOf(list.kind, first + index)}<span dir="auto">${text}</span></li>`,
    )}</ol></section>`,
    heightMm: (hasTitle ? titleMm(sizes) : 0) + itemsMm.reduce((sum, mm) => sum + mm, 0) + sizes.gapMm,
  };
}

const titleOf = ({ title }: List, first: number): Html => html`<h3>${first === 0 ? title : `${title}, continued`}</h3>`;

const titleMm = (sizes: CardSizes): number => lineMm(kickerOf(sizes) * 1.1, sizes) + titleRuleMm + 0.5;

function markOf(kind: List['kind'], index: number): Html {
  if (kind === 'steps') return html`<b class="box number">${index + 1}</b>`;
  return kind === 'never' ? html`<b class="cross">×</b>` : box;
}

/** What nobody may do, beside what is looked at afterwards. */
export function besideBlock(lists: readonly List[], sizes: CardSizes): Block {
  const columnMm = (sizes.widthMm - 4) / 2;
  const both = lists.map((list) => listBlock(list, 0, list.items, columnMm, sizes));
  return {
    html: html`<div class="beside">${both.map((one) => one.html)}</div>`,
    heightMm: Math.max(...both.map(({ heightMm }) => heightMm)),
  };
}

/** A short list as running text, one item after the other. */
export function flowBlock(list: List, sizes: CardSizes): Block {
  const mark = list.kind === 'never' ? 'x ' : 'XX ';
  const text = `${list.title} ${list.items.map((item) => mark + item).join('   ')}`;
  return {
    html: html`<section class="flow ${list.kind}"><h3>${list.title}</h3> <ul>${list.items.map(
      (item) => html`<li dir="auto">${boxed(item, markOf(list.kind, 0))}</li> `,
    )}</ul></section>`,
    heightMm: countLines(text, sizes.widthMm, sizes.body) * lineMm(sizes.body, sizes) + sizes.gapMm,
  };
}

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
  const ticks = checks.map((text) => html`<span class="tick">${boxed(text)}</span> `);
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
