import type { LookCard, RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { type CardPage, type CardSizes, cardSizes, kickerOf, type Paper, sheetLinePt } from './card-sizes.ts';
import { outcomeMm } from './card-words.ts';
import { type Html, html, nothing, pageDocument, type SheetLine, sheetWords } from './html.ts';
import { layOutCard } from './lay-out-card.ts';
import { layOutLook } from './look-card.ts';

interface RenderedCards {
  readonly page: string;
  /** Pages that each card takes, in their order. */
  readonly pages: readonly number[];
}

/** The room cards as one page to print, a sheet each; those of rooms that update themselves stand last. */
export function renderCards(
  cards: readonly RoomCard[],
  line: SheetLine,
  paper: Paper,
  looks: readonly LookCard[] = [],
): RenderedCards {
  const named = [
    ...cards.map((card) => ({ name: `${card.room.key}, load ${card.load.id}`, pages: layOutCard(card, paper) })),
    ...looks.map((card) => ({ name: `${card.room.key}, over the air`, pages: layOutLook(card, paper) })),
  ];
  const laidOut = named.map(({ pages }) => pages);
  const sheets = named.flatMap(({ name, pages }) => pages.map((page, at) => ({ name, page, at, of: pages.length })));
  const [sizes] = cardSizes[paper];
  if (sizes === undefined) throw new TypeError(`no sizes for ${paper}`);
  const none = laidOut.length === 0 ? html`<p>No room here takes a stick.</p>` : nothing;
  const main = html`<main>${none}${sheets.map(({ name, page, at, of }, number) => {
    const place = `${sheetWords(line)}; sheet ${number + 1} of ${sheets.length}`;
    return sheet(name, page, at, of, place);
  })}</main>`;
  return {
    page: pageDocument(`Room cards, ${line.round}`, cardStyle(sizes), main),
    pages: laidOut.map(({ length }) => length),
  };
}

function sheet(whose: string, { sizes, body, foot }: CardPage, at: number, of: number, place: string): Html {
  const name = `${whose}${of > 1 ? `, page ${at + 1} of ${of}` : ''}`;
  return html`<article class="card${sizes.dense ? ' dense' : ''}" style="${sizesInStyle(sizes)}" aria-label="${name}">
${body.map((block) => block.html)}
<div class="foot">${foot.map((block) => block.html)}<p class="sheet"><span dir="auto">${place}</span>${of > 1 ? html` <b>page ${at + 1} of ${of}</b>` : nothing}</p></div>
</article>
`;
}

/** The sizes of one card, as its style attribute. */
const sizesInStyle = (sizes: CardSizes): string =>
  `--body:${sizes.body}pt;--kicker:${kickerOf(sizes)}pt;--code:${sizes.codeMm}mm;--gap:${sizes.gapMm}mm;--write:${sizes.writeMm}mm;--sheet:${sheetLinePt(sizes)}pt;--leading:${sizes.leading};--outcome:${outcomeMm(sizes)}mm`;

/** A page a card; a card that its browser sets higher than reckoned runs on to a further page and is never cut. */
const cardStyle = ({ widthMm, heightMm, marginMm, paper }: CardSizes): string => `
@page { size: ${paper === 'a5' ? '148mm 210mm' : '105mm 148mm'}; margin: ${marginMm}mm; }
.card { display: flex; flex-direction: column; width: ${widthMm}mm; min-height: ${heightMm - 0.4}mm; font-size: var(--body); line-height: var(--leading); break-after: page; position: relative; }
.card:last-of-type { break-after: auto; }
.card > * { flex: none; margin-bottom: var(--gap); }
.card > p, .foot > p { margin-bottom: calc(var(--gap) * .5); }
.card > .foot { margin: auto 0 0; }
.foot > section { margin-bottom: var(--gap); }
.kicker { font-size: var(--kicker); font-weight: 700; }
.kicker i { font-weight: 400; font-style: normal; }

.head { display: flex; justify-content: space-between; gap: 2.5mm; align-items: flex-start; border-bottom: .9mm solid; }
.where { min-width: 0; flex: 1; padding-bottom: var(--gap); }
.room { font-weight: 800; line-height: 1.1; letter-spacing: -.012em; }
.ids { margin-top: .6mm; }
.ids span { margin-right: 1em; white-space: normal; }
.qr { display: block; width: var(--code); height: var(--code); flex: none; }
.dense .head { border-bottom: 0; margin-bottom: 0; }
.dense .plate { margin-top: .8mm; }

.plate { border: .6mm solid; border-radius: 1mm; padding: .6mm 2.4mm; }
.plate.aside { display: flex; justify-content: space-between; gap: 2mm; }
.label { font-family: var(--mono); font-weight: 700; letter-spacing: .07em; line-height: 1.3; }
.label u { text-decoration: underline; text-decoration-thickness: .08em; text-underline-offset: .14em; text-decoration-skip-ink: none; }
.label .blank { letter-spacing: .37em; }

.no-stick { border: .6mm solid; padding: .6mm 2.4mm; line-height: 1.15; font-weight: 800; }
.facts { border-top: .3mm solid; }
.row { display: flex; border-bottom: .3mm solid; }
.fact { padding: .7mm 1.8mm; box-sizing: border-box; min-width: 0; }
.fact + .fact { border-left: .3mm solid; }
.fact:first-child { padding-left: 0; }
.fact:last-child { padding-right: 0; }
.key { font-weight: 800; line-height: 1.15; }
.key.mono { font-family: var(--mono); font-weight: 700; white-space: nowrap; }
.pick { font-family: var(--mono); }
.pick b { font-family: var(--sans); }
.key.before { font-weight: 400; }
.key .line { height: 1em; width: 96%; }
.under { font-size: var(--kicker); }

.wipe { border: 1.1mm solid; display: flex; }
.bars { flex: none; position: relative; }
.bars .hatch, .strip .hatch { position: absolute; inset: 0; width: 100%; height: 100%; }
.strip { position: relative; height: 2.4mm; margin-bottom: .6mm; }
.wipe-text { padding: .5mm 2.4mm .9mm; flex: 1; min-width: 0; }
.wipe h3 { font-weight: 900; line-height: 1.1; }
.wipe .line { width: 24mm; height: 1em; }
.tick { display: inline-block; margin-right: 2.5mm; }

.port { font-weight: 700; }
.list h3 { font-size: calc(var(--kicker) * 1.1); margin-bottom: .5mm; border-bottom: .4mm solid; }
.list ol { list-style: none; margin: 0; padding: 0; }
.list li { display: flex; align-items: baseline; margin-bottom: .4mm; }
.list li > span[dir] { flex: 1; min-width: 0; }
.number { width: auto; min-width: 1.35em; height: 1.12em; line-height: 1.02em; text-align: center; font-size: max(6.5pt, .9em); margin-right: .7em; }
.cross { width: 1.3em; flex: none; }
.list.after .box { margin-right: .75em; }
.beside { display: flex; gap: 4mm; align-items: flex-start; }
.beside > * { flex: 1; min-width: 0; }
.flow h3, .flow ul, .flow li { display: inline; margin: 0; padding: 0; font-size: var(--body); }
.flow h3::after { content: ":"; }
.flow li { margin-right: .6em; }

.record { border: .5mm solid; }
.record-row { display: flex; }
.record-row > div { flex: 1; height: var(--write); padding: .3mm 1.2mm; box-sizing: border-box; }
.record-row > div + div { border-left: .3mm solid; }
.outcome { border-top: .3mm solid; height: var(--outcome); flex-wrap: wrap; align-content: space-between; justify-content: space-between; align-items: baseline; padding: .5mm 1.2mm 1.4mm; box-sizing: border-box; }
.outcome p > span { margin-right: 4.5mm; font-weight: 700; }
.outcome .kicker { font-weight: 400; }
.outcome .line { width: 100%; height: calc(var(--write) * .4); }

.again { border-bottom: .9mm solid; padding-bottom: .5mm; }
.again h2 { line-height: 1.1; }
.foot > .sheet { display: flex; justify-content: space-between; gap: 2mm; margin: 0; font-size: var(--sheet); line-height: 1.15; white-space: nowrap; }
.sheet > span { overflow: hidden; text-overflow: ellipsis; }
.sheet > b { flex: none; }
`;
