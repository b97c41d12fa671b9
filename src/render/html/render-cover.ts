import type { CoverSheet } from '../../core/rounds/cards/make-cover.ts';
import { alwaysMind, stopAtOnce } from '../../core/rounds/cards/usual-practice.ts';
import { box, drawHatch, line } from './draw-marks.ts';
import { drawTimeline } from './draw-timeline.ts';
import { type Html, html, nothing } from './html.ts';
import { inHours } from './in-hours.ts';
import { pageDocument } from './page-document.ts';

/** The round at a glance, for the desk and for whoever drives. */
export function renderCover(cover: CoverSheet): string {
  const main = html`<main><article>
<header><h1 dir="auto">${cover.name}</h1><p>Round planned ${cover.plannedAt.slice(0, 16).replace('T', ' ')}</p></header>
${totals(cover)}
${wiping(cover)}
${forPeople(cover)}
${loads(cover)}
${schedule(cover)}
${cover.upToDate.length === 0 ? nothing : html`<section><h2>Up to date, no visit</h2><p class="run">${cover.upToDate.map(({ key }) => html`<bdi>${key}</bdi> `)}</p></section>`}
<section class="mind"><h2>Safety</h2><p>${alwaysMind.join(' ')}</p><p><b>Stop at once:</b> ${stopAtOnce}.</p></section>
</article></main>`;
  return pageDocument(`Cover of the round, ${cover.name}`, style, main);
}

function totals({ rooms, toUpdate, upToDate, needPerson, loads: all, sticks, totalMinutes }: CoverSheet): Html {
  const cell = (value: string | number, name: string): Html => html`<div><dd>${value}</dd><dt>${name}</dt></div>`;
  return html`<dl class="totals">${[
    cell(rooms, rooms === 1 ? 'room' : 'rooms'),
    cell(toUpdate, 'to update'),
    cell(upToDate.length, 'up to date'),
    cell(needPerson.length, 'for a person'),
    cell(all.length, all.length === 1 ? 'load' : 'loads'),
    cell(sticks, sticks === 1 ? 'stick' : 'sticks'),
    cell(inHours(totalMinutes), 'hours in all'),
  ]}</dl>`;
}

function wiping({ wiping: rooms }: CoverSheet): Html {
  if (rooms.length === 0) return nothing;
  return html`<section class="wipes"><div class="strip">${drawHatch('bars')}</div><div class="inner"><h2>These panels are WIPED</h2>
<table>${columns(25, 24, 8, 27, 8, 8)}<thead><tr><th>Room</th><th>Label</th><th>Load</th><th>Approved by</th><th>Saved</th><th>Users know</th></tr></thead><tbody>${rooms.map(
    ({ room, approval }) =>
      html`<tr><td dir="auto"><b>${room.key}</b></td><td class="mono"><bdi>${room.label}</bdi></td><td>${room.steps.map(({ load }) => load).join(', ')}</td><td dir="auto">${
        approval ?? html`${line} <b>not noted</b>`
      }</td><td>${box}</td><td>${box}</td></tr>`,
  )}</tbody></table></div><div class="strip">${drawHatch('bars')}</div></section>`;
}

function forPeople({ needPerson }: CoverSheet): Html {
  if (needPerson.length === 0) return nothing;
  return html`<section><h2>For a person: no card</h2><table>${columns(18, 18, 26, 38)}<thead><tr><th>Room</th><th>Label</th><th>Why</th><th>What to do</th></tr></thead><tbody>${needPerson.map(
    ({ key, label, state, findings }) => {
      const [first] = [...findings].sort((a, b) => severities.indexOf(a.severity) - severities.indexOf(b.severity));
      return html`<tr><td dir="auto"><b>${key}</b></td><td class="mono"><bdi>${label}</bdi></td><td dir="auto"><b>${state === 'stopped' ? 'Stopped.' : 'Cannot tell.'}</b> ${first?.title ?? ''}</td><td dir="auto">${first?.todo ?? ''}</td></tr>`;
    },
  )}</tbody></table></section>`;
}

/** In hundredths: no content makes a table wider than its page. */
const columns = (...shares: readonly number[]): Html =>
  html`<colgroup>${shares.map((share) => html`<col style="width:${share}%">`)}</colgroup>`;

const severities = ['stop', 'unproven', 'caution', 'note'];

function loads({ loads: all }: CoverSheet): Html {
  return html`<section><h2>Loads</h2><table>${columns(7, 16, 11, 24, 24, 18)}<thead><tr><th>Load</th><th>Stick</th><th>Mode</th><th>For</th><th>Package</th><th>Rooms</th></tr></thead><tbody>${all.map(
    ({ load, sticks, rooms, unproven }) =>
      html`<tr><td class="big">${load.id}</td><td class="mono">${sticks.length === 0 ? line : sticks.map((stick) => html`<b>${stick}</b> `)}</td><td>${load.mode === 'in-os' ? 'in-OS' : load.mode}${load.wipes ? html`<br><b>WIPES</b>` : nothing}${unproven.length > 0 ? html`<br><b>NOT PROVEN</b>` : nothing}</td><td dir="auto">${load.familyTitle}<br><b>${Object.entries(
        load.variant,
      )
        .map(([part, value]) => `${part} ${value}`)
        .join(
          ', ',
        )}</b></td><td><bdi>${load.package.name}</bdi><br><b class="mono"><bdi>${load.package.build}</bdi></b></td><td><b>${rooms.length}</b>: <span class="run">${rooms.map(({ key }) => html`<bdi>${key}</bdi> `)}</span></td></tr>`,
  )}</tbody></table></section>`;
}

/** The order of work: what is prepared at the desk, and which stick goes where. */
function schedule(cover: CoverSheet): Html {
  return html`<section><h2>Order of work</h2>${drawTimeline(cover)}<p class="legend">White: prepared at the desk. Black: in a room. Slanted bars: in a room, and it wipes the panel. Beginnings and ends are hours from the start.</p>
<table class="turns">${columns(9, 9, 9, 9, 54, 10)}<thead><tr><th>From</th><th>To</th><th>Stick</th><th>Load</th><th>Where</th><th>Done</th></tr></thead><tbody>${cover.turns.map(
    ({ startMinute, endMinute, stick, load, room, wipes }) =>
      html`<tr><td class="mono">${inHours(startMinute)}</td><td class="mono">${inHours(endMinute)}</td><td>${stick}</td><td><b>${load}</b></td><td dir="auto">${
        room === null ? html`<i>desk: prepare</i>` : html`<b>${room}</b>`
      }${wipes && room !== null ? html` WIPES` : nothing}</td><td>${box}</td></tr>`,
  )}</tbody></table></section>`;
}

const style = `
@page { size: A4; margin: 14mm 13mm; }
main { width: 184mm; font-size: 9.5pt; line-height: 1.25; }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 6mm; border-bottom: 1mm solid; padding-bottom: 1.5mm; }
h1 { font-size: 27pt; font-weight: 800; line-height: 1.1; letter-spacing: -.012em; }
h2 { font-size: 12.5pt; margin-bottom: 1.2mm; break-after: avoid; }
section { margin-top: 5mm; }
.totals { display: flex; border-bottom: .3mm solid; margin: 0; }
.totals div { flex: 1; padding: 2mm 2.5mm; }
.totals div + div { border-left: .3mm solid; }
.totals div:first-child { padding-left: 0; }
.totals dd { font-size: 21pt; font-weight: 800; line-height: 1.1; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th { text-align: start; font-size: 8.5pt; border-bottom: .5mm solid; padding: .6mm 2mm .6mm 0; }
th { overflow-wrap: normal; }
td { vertical-align: top; border-bottom: .2mm solid; padding: .9mm 2mm .9mm 0; }
.mono { font-family: var(--mono); }
td .line { width: 26mm; height: 1.1em; }
.big { font-size: 15pt; font-weight: 800; line-height: 1; }
.run bdi { margin-right: 1.2mm; }
.run bdi:not(:last-child)::after { content: ","; }
.wipes { border: 1.1mm solid; }
.wipes .inner { padding: 1.5mm 3mm 1mm; }
.wipes tr:last-child td { border-bottom: 0; }
.strip { position: relative; height: 3.2mm; }
.hatch { position: absolute; inset: 0; width: 100%; height: 100%; }
.turns { margin-top: 2mm; }
.turns td { padding-block: .5mm; }
.timeline { display: block; width: 100%; height: auto; }
section > .timeline { margin-top: 1mm; }
.legend { font-size: 8.5pt; }
.mind { break-inside: avoid; }
i { font-style: normal; }
`;
