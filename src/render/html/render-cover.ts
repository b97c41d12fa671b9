import { modeTraits } from '../../core/model/mode.ts';
import type { CoverSheet } from '../../core/rounds/cards/make-cover.ts';
import { rowsInWords } from '../../core/rounds/list/list-table.ts';
import { alwaysMind, stopAtOnce } from '../../core/rounds/plan/usual-practice.ts';
import { gravestOf, onPaper } from '../../core/text/on-paper.ts';
import { box, drawHatch, line } from './draw-marks.ts';
import { buildText, Html, html, inPageMargin, nameText, nothing, pageDocument } from './html.ts';

/** The round at a glance, for the desk and for whoever drives. */
export function renderCover(cover: CoverSheet): string {
  const main = html`<main><article>
<header><h1 dir="auto">${cover.name}</h1><p>Round planned ${cover.plannedAt}</p></header>
${totals(cover)}
${wiping(cover)}
${forPeople(cover)}
${overTheAir(cover)}
${unusedRows(cover)}
${loads(cover)}
${schedule(cover)}
${cover.upToDate.length === 0 ? nothing : html`<section><h2>Up to date, no visit</h2><p class="run">${cover.upToDate.map(({ key }) => html`<bdi>${key}</bdi> `)}</p></section>`}
<section class="mind"><h2>Safety</h2><p>${alwaysMind.join(' ')}</p><p><b>Stop at once:</b> ${stopAtOnce}.</p></section>
</article></main>`;
  const line = { round: cover.name, plannedAt: cover.plannedAt };
  return pageDocument(`Cover of the round, ${cover.name}`, style + inPageMargin(line), main);
}

function totals(cover: CoverSheet): Html {
  const { rooms, unused, toUpdate, upToDate, needPerson, loads: all, sticks, totalMinutes } = cover;
  const air = cover.overTheAir.length;
  const cell = (value: string | number, name: string): Html => html`<div><dd>${value}</dd><dt>${name}</dt></div>`;
  const rows = unused === undefined || unused.length === 0 ? nothing : html`<p>${rowsInWords(rooms, unused)}.</p>`;
  return html`${rows}<dl class="totals">${[
    cell(rooms, rooms === 1 ? 'room' : 'rooms'),
    cell(toUpdate, air === 0 ? 'to update' : 'by stick'),
    ...(air === 0 ? [] : [cell(air, 'over the air')]),
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
  return html`<section><h2>For a person: no card</h2><table>${columns(16, 23, 25, 36)}<thead><tr><th>Room</th><th>Label</th><th>Why</th><th>What to do</th></tr></thead><tbody>${needPerson.map(
    ({ key, label, state, findings }) => {
      const first = gravestOf(findings);
      // What nobody can see must be told.
      const seen = first?.code === 'label/letters-of-another-alphabet' ? `: ${first.seen}` : '';
      return html`<tr><td dir="auto"><b>${key}</b></td><td class="mono"><bdi>${label}</bdi></td><td dir="auto"><b>${state === 'stopped' ? 'Stopped.' : 'Cannot tell.'}</b> ${inCapital(first?.title ?? '')}${seen}</td><td dir="auto">${onPaper(first?.todo ?? '')}</td></tr>`;
    },
  )}</tbody></table></section>`;
}

const inCapital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** No stick goes there: what to switch on, when to look, and which build to find. */
function overTheAir({ overTheAir: rooms }: CoverSheet): Html {
  if (rooms.length === 0) return nothing;
  return html`<section><h2>Over the air: no stick, look later</h2><table>${columns(18, 16, 16, 42, 8)}<thead><tr><th>Room</th><th>Build now</th><th>To expect</th><th>What to do</th><th>Seen</th></tr></thead><tbody>${rooms.map(
    ({ key, running, target, way }) =>
      html`<tr><td dir="auto"><b>${key}</b></td><td class="mono">${running === null ? line : buildText(running)}</td><td class="mono">${target === null ? 'not known' : html`<b>${buildText(target)}</b>`}</td><td dir="auto">${[way?.reason ?? '', ...(way?.todo ?? [])].join(' ')}</td><td>${box}</td></tr>`,
  )}</tbody></table></section>`;
}

/** Rows of the list that are no room of the round: nobody goes there until they are mended. */
function unusedRows({ unused = [] }: CoverSheet): Html {
  const rows = unused.filter(({ why }) => why === 'unusable');
  if (rows.length === 0) return nothing;
  return html`<section><h2>Rows of the list that cannot be used</h2><table>${columns(10, 22, 68)}<thead><tr><th>Row</th><th>Room</th><th>Why, and what to do</th></tr></thead><tbody>${rows.map(
    ({ row, room, reason }) =>
      html`<tr><td>${row}</td><td dir="auto"><b>${room}</b></td><td dir="auto">${onPaper(reason)}</td></tr>`,
  )}</tbody></table></section>`;
}

/** In hundredths: no content makes a table wider than its page. */
const columns = (...shares: readonly number[]): Html =>
  html`<colgroup>${shares.map((share) => html`<col style="width:${share}%">`)}</colgroup>`;

function loads({ loads: all }: CoverSheet): Html {
  return html`<section><h2>Loads</h2><table>${columns(7, 16, 11, 24, 24, 18)}<thead><tr><th>Load</th><th>Stick</th><th>Mode</th><th>For</th><th>Package</th><th>Rooms</th></tr></thead><tbody>${all.map(
    ({ load, sticks, rooms, labels, unproven }) =>
      html`<tr><td class="big">${load.id}</td><td class="mono">${sticks.length === 0 ? line : sticks.map((stick) => html`<b>${stick}</b> `)}</td><td>${modeTraits[load.mode].inWords}${load.wipes ? html`<br><b>WIPES</b>` : nothing}${unproven.length > 0 ? html`<br><b>NOT PROVEN</b>` : nothing}</td><td dir="auto">${load.familyTitle}<br><b class="mono">${labels.map((label, at) => html`${at === 0 ? nothing : html`<br>`}<bdi>${label}</bdi>`)}</b></td><td>${nameText(load.package.name)}<br><b class="mono">${buildText(load.package.build)}</b></td><td><b>${rooms.length}</b>: <span class="run">${rooms.map(({ key }) => html`<bdi>${key}</bdi> `)}</span></td></tr>`,
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

/** More rows would not be a glance any more. */
const mostSticks = 16;
const rowMm = 5.4;
const nameMm = 15;
const widthMm = 184;

/**
 * One row a stick, one bar a turn: white at the desk, black in a room, slanted where it wipes; the table below says the
 * same in words.
 */
function drawTimeline({ turns, sticks, totalMinutes }: CoverSheet): Html {
  if (turns.length === 0 || sticks === 0 || sticks > mostSticks) return nothing;
  const mmOfMinute = (widthMm - nameMm) / Math.max(1, totalMinutes);
  const heightMm = sticks * rowMm + 5;
  const at = (minute: number): number => round(nameMm + minute * mmOfMinute);
  const names = Array.from({ length: sticks }, (_, index) =>
    text(0, (index + 0.68) * rowMm, `stick ${index + 1}`, 'start'),
  );
  const bars = turns.map(({ stick, startMinute, endMinute, room, load, wipes }) => {
    const wide = round(Math.max(0.3, (endMinute - startMinute) * mmOfMinute - 0.5));
    const x = at(startMinute);
    const y = round((stick - 1) * rowMm + 0.7);
    const fill = room === null ? '#fff' : wipes ? 'url(#slanted)' : '#000';
    const bar = `<rect x="${x}" y="${y}" width="${wide}" height="${rowMm - 1.4}" fill="${fill}" stroke="#000" stroke-width=".3"/>`;
    if (wide < 3.5) return bar;
    const middle = round(x + wide / 2);
    const ground = wipes && room !== null ? `<circle cx="${middle}" cy="${y + 2}" r="1.9" fill="#fff"/>` : '';
    return bar + ground + text(middle, y + 3, load, 'middle', room === null || wipes ? '#000' : '#fff');
  });
  const step = [15, 30, 60, 120, 240, 480, 1440].find((minutes) => totalMinutes / minutes <= 9) ?? 2880;
  const marks = Array.from({ length: Math.floor(totalMinutes / step) + 1 }, (_, index) => {
    const x = at(index * step);
    const anchor = x > widthMm - 6 ? 'end' : index === 0 ? 'start' : 'middle';
    return `<path d="M${x} 0V${sticks * rowMm + 1}" stroke="#000" stroke-width=".15"/>${text(x, heightMm - 0.7, inHours(index * step), anchor)}`;
  });
  return new Html(
    `<svg class="timeline" aria-hidden="true" viewBox="0 0 ${widthMm} ${heightMm}">${slanted}${marks.join('')}${names.join('')}${bars.join('')}</svg>`,
  );
}

const slanted =
  '<pattern id="slanted" width="2" height="2" viewBox="0 0 2 2" patternUnits="userSpaceOnUse"><rect width="2" height="2" fill="#fff"/><path d="M0 1L1 0H2L0 2zM2 1V2H1z"/></pattern>';

const text = (x: number, y: number, words: string, anchor: string, fill = '#000'): string =>
  `<text x="${round(x)}" y="${round(y)}" font-size="3" font-weight="700" text-anchor="${anchor}" fill="${fill}">${html`${words}`.markup}</text>`;

const round = (mm: number): number => Math.round(mm * 100) / 100;

/** `1:05` for 65 minutes. */
function inHours(minutes: number): string {
  const whole = Math.round(minutes);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`;
}
