import { modeTraits } from '../../core/model/mode.ts';
import type { StickTag } from '../../core/rounds/cards/make-cover.ts';
import { box, drawCode, drawHatch, line } from './draw-marks.ts';
import { type Html, html, nothing, pageDocument } from './html.ts';

/** A tag for each stick, to cut out along the lines: two beside each other, on A4 and on Letter. */
export function renderTags(tags: readonly StickTag[], name: string): string {
  return pageDocument(
    `Tags of the sticks, ${name}`,
    style,
    html`<main>${tags.length === 0 ? html`<p>No stick is needed here.</p>` : tags.map(tag)}</main>`,
  );
}

function tag({ load, stick, date, rooms, code, unproven }: StickTag): Html {
  const variant = Object.entries(load.variant).map(([part, value]) => `${part} ${value}`);
  const where = shortened(rooms);
  return html`<article class="tag" aria-label="Stick ${stick ?? 'to be prepared'}, load ${load.id}">
<div class="side">${drawCode(code, `Code for scanners: ${code}`)}<p class="load">${load.id}</p></div>
<div class="text"><p class="stick">${stick === null ? line : html`<bdi>${stick}</bdi>`}</p>
<p class="mode">${modeTraits[load.mode].inWords}${load.wipes ? '' : ', keeps data'}</p>
<p class="build"><bdi>${load.package.build}</bdi></p>
<p dir="auto">${load.familyTitle}</p><p class="variant"><bdi>${variant.join(', ')}</bdi></p>
<p>${date === null ? html`Prepared ${line}` : html`Prepared <b>${date}</b>`} ${box} verified</p>
${unproven.length === 0 ? nothing : html`<p class="variant">NOT PROVEN: ${unproven.length === 1 ? 'one thing' : `${unproven.length} things`}, see the cards</p>`}
<p class="rooms" dir="auto">${where}</p></div>
${load.wipes ? html`<div class="wipes"><div class="bars">${drawHatch('bars')}</div><b>WIPES THE PANEL</b><div class="bars">${drawHatch('bars')}</div></div>` : nothing}
</article>`;
}

/** More would make the print small; the code holds as many as it can, and the cover all. */
const longestRooms = 110;

function shortened(rooms: readonly string[]): string {
  const fitting = rooms.filter((_, index) => rooms.slice(0, index + 1).join(', ').length <= longestRooms);
  const shown = fitting.length === 0 ? rooms.slice(0, 1) : fitting;
  return shown.length === rooms.length
    ? shown.join(', ')
    : `${shown.join(', ')} and ${rooms.length - shown.length} more`;
}

const style = `
@page { size: A4; margin: 12mm; }
main { width: 180mm; display: grid; grid-template-columns: 90mm 90mm; grid-auto-rows: minmax(61mm, auto); }
.tag { box-sizing: border-box; border: .25mm dashed; margin: 0 -.25mm -.25mm 0; padding: 4mm; display: grid; grid-template-columns: 29mm 1fr; grid-template-rows: 1fr auto; column-gap: 3.5mm; break-inside: avoid; font-size: 8.5pt; line-height: 1.2; }
.qr { display: block; width: 29mm; height: 29mm; margin: -1mm 0 0 -2mm; }
.text { min-width: 0; }
.load { font-size: 34pt; font-weight: 800; line-height: 1; }
.load::before { content: "load"; font-size: 8.5pt; font-weight: 700; margin-right: 1.5mm; }
.stick { font-family: var(--mono); font-size: 25pt; font-weight: 700; line-height: 1.1; white-space: nowrap; min-height: 1.1em; }
.stick .line { width: 100%; height: .95em; }
.mode { font-size: 13pt; font-weight: 800; }
.build { font-family: var(--mono); font-size: 12pt; font-weight: 700; }
.variant { font-weight: 700; }
.text .line { width: 20mm; }
.stick .line { width: 100%; }
.wipes { grid-column: 1 / -1; display: flex; align-items: center; gap: 2mm; border: .8mm solid; font-size: 13pt; font-weight: 900; line-height: 1.25; height: 6.6mm; white-space: nowrap; }
.wipes .bars { flex: 1; align-self: stretch; position: relative; }
.bars .hatch { position: absolute; inset: 0; width: 100%; height: 100%; }
`;
