import { textsOf } from '../../core/findings/finding.ts';
import type { Load } from '../../core/model/round.ts';
import { labelFinder } from '../../core/rounds/cards/make-cover.ts';
import { progressWords } from '../../core/rounds/filled/export-changes.ts';
import { rowsInWords } from '../../core/rounds/list/list-table.ts';
import { wordsOf } from '../../core/rounds/records/find-repeats.ts';
import {
  type RoomStatus,
  type RoundStatus,
  roomProgress,
  type StickStatus,
} from '../../core/rounds/records/round-status.ts';
import { gravestOf, onPaper } from '../../core/text/on-paper.ts';
import { countInWords } from '../../core/text/words.ts';
import { buildText, type Html, html, inPageMargin, nothing, pageDocument } from './html.ts';

/**
 * The round on paper: A4, black and white, for whoever keeps the list and whoever signs. AT is when it was made, RFC
 * 3339.
 */
export function renderRoundReport(status: RoundStatus, at: string): string {
  const name = status.round.list.path.split(/[\\/]/).at(-1) ?? '';
  const main = html`<main><article class="report">
<h1>Round of updates: ${name}</h1>
<p>Planned ${status.round.plannedAt}; report of ${at}; ${countInWords(status.records.length, 'line')} of records by ${people(status)}.</p>
<p>${rowsInWords(status.rooms.length, status.round.list.unused)}.</p>
${glance(status)}
${section(
  'Failed, and not clear',
  status.rooms.filter(({ progress }) => progress === 'failed' || progress === 'unclear'),
  failedTable,
)}
${section('Fails more than once', status.repeats, repeatTable)}
${section(
  'To be settled',
  status.findings.filter(({ code }) => code !== 'record/fails-repeatedly'),
  (found) => html`<ul>${found.map((one) => html`<li>${textsOf(one).seen} ${onPaper(textsOf(one).todo)}</li>`)}</ul>`,
)}
${section(
  'Held, and why',
  status.rooms.filter(({ progress }) => progress === 'held'),
  heldTable,
)}
${section(
  'Rows of the list that cannot be used',
  (status.round.list.unused ?? []).filter(({ why }) => why === 'unusable'),
  unusedTable,
)}
${section(
  'Over the air, to be looked at',
  status.rooms.filter(({ progress }) => progress === 'over-the-air'),
  airTable,
)}
${section('All rooms', status.rooms, roomTable)}
${section('Sticks', status.sticks, stickTable)}
${section('Packages', status.round.loads, packageTable(status.round))}
<section class="sign"><h2>Signed</h2>
<p>Technician <span class="line"></span> Date <span class="line short"></span></p>
<p>For the owner <span class="line"></span> Date <span class="line short"></span></p></section>
</article></main>`;
  const line = { round: name, plannedAt: status.round.plannedAt };
  return pageDocument(`Round report: ${name}`, reportStyle + inPageMargin(line), main);
}

const people = ({ records }: RoundStatus): string =>
  [...new Set(records.map(({ who }) => who))].toSorted().join(', ') || 'nobody yet';

function glance({ counts, rooms, round }: RoundStatus): Html {
  const wiped = rooms.filter((room) => room.wiped).length;
  const unused = (round.list.unused ?? []).filter(({ why }) => why === 'unusable').length;
  const cells = [
    ['rooms', rooms.length] as const,
    ...(unused > 0 ? [['rows not used', unused] as const] : []),
    ...roomProgress.filter((one) => counts[one] > 0).map((one) => [progressWords[one], counts[one]] as const),
    ...(wiped > 0 ? [['wiped', wiped] as const] : []),
  ];
  return html`<dl class="glance">${cells.map(([word, count]) => html`<div><dd>${count}</dd><dt>${word}</dt></div>`)}</dl>`;
}

const section = <One>(title: string, items: readonly One[], show: (items: readonly One[]) => Html): Html =>
  items.length === 0 ? nothing : html`<section><h2>${title} (${items.length})</h2>${show(items)}</section>`;

const table = (headings: readonly string[], rows: readonly (readonly (Html | string)[])[]): Html =>
  html`<table><thead><tr>${headings.map((one) => html`<th scope="col">${one}</th>`)}</tr></thead>
<tbody>${rows.map((cells) => html`<tr>${cells.map((cell) => html`<td><bdi>${cell}</bdi></td>`)}</tr>`)}</tbody></table>`;

const ids = ({ room }: RoomStatus): Html =>
  html`${room.label}${[room.asset, room.serial].flatMap((id) => (id === null ? [] : [html`<br>${id}`]))}`;

const roomTable = (rooms: readonly RoomStatus[]): Html =>
  table(
    ['Room', 'Label, asset, serial', 'Before', 'After', 'Target', 'Outcome', 'When, who, stick'],
    rooms.map((status) => {
      const { room, last, reached, wiped, approval } = status;
      const outcome = html`<b>${progressWords[status.progress]}</b>${
        wiped ? html`<br>wiped, ${approval === null ? 'no approval noted' : `approved: ${approval}`}` : nothing
      }`;
      const builds = [before(status), reached ?? '', room.target ?? ''].map(buildText);
      return [room.key, ids(status), ...builds, outcome, visitOf(last)];
    }),
  );

const before = ({ room, visits }: RoomStatus): string => visits[0]?.visit.buildBefore ?? room.running ?? '';

function visitOf(last: RoomStatus['last']): Html | string {
  if (last === undefined) return '';
  const { at, who, stick } = last.visit;
  return html`${at}<br>${who}${stick === null ? nothing : html`, ${stick}`}`;
}

const failedTable = (rooms: readonly RoomStatus[]): Html =>
  table(
    ['Room', 'Label, asset, serial', 'Tries', 'Exact words, or the build shown'],
    rooms.map((status) => [
      status.room.key,
      ids(status),
      String(status.tries.length),
      html`${status.visits
        .filter(({ result }) => result === 'failed' || result === 'unclear')
        .map(
          (reading) =>
            html`<p>${reading.visit.at}, ${reading.visit.who}, ${reading.visit.stick ?? 'stick not noted'}: ${
              wordsOf(reading).join('; ') || reading.visit.buildAfter || 'no words noted'
            }</p>`,
        )}`,
    ]),
  );

const heldTable = (rooms: readonly RoomStatus[]): Html =>
  table(
    ['Room', 'Label, asset, serial', 'Why', 'What to do'],
    rooms.map((status) => {
      const first = gravestOf(status.room.findings);
      return [status.room.key, ids(status), first?.seen ?? first?.title ?? '', onPaper(first?.todo ?? '')];
    }),
  );

const unusedTable = (rows: Readonly<NonNullable<RoundStatus['round']['list']['unused']>>): Html =>
  table(
    ['Row', 'Room', 'Why, and what to do'],
    rows.map(({ row, room, reason }) => [String(row), room, onPaper(reason)]),
  );

const airTable = (rooms: readonly RoomStatus[]): Html =>
  table(
    ['Room', 'To expect', 'Why, and what to do', 'Last looked'],
    rooms.map(({ room, last }) => [
      room.key,
      room.target ?? 'not known',
      [room.way?.reason ?? '', ...(room.way?.todo ?? [])].join(' '),
      last === undefined ? 'nobody yet' : `${last.visit.at}, ${last.visit.who}`,
    ]),
  );

const repeatTable = (repeats: RoundStatus['repeats']): Html =>
  table(
    ['What', 'Failed', 'Rooms', 'Exact words'],
    repeats.map(({ by, name, failures, tries, rooms, texts }) => [
      `${by} ${name}`,
      `${failures} of ${tries}`,
      rooms.join(', '),
      texts.join('; '),
    ]),
  );

const stickTable = (sticks: readonly StickStatus[]): Html =>
  table(
    ['Stick', 'Load', 'Prepared', 'Where it was', 'Came back'],
    sticks.map(({ code, load, prepared, visits, returned }) => [
      code,
      load?.id ?? prepared?.load ?? 'not known',
      prepared === undefined ? '' : `${prepared.at}, ${prepared.who}`,
      [...new Set(visits.map(({ room }) => room))].join(', '),
      returned === undefined ? '' : `${returned.state}${returned.cleared ? ', cleared' : ''}, ${returned.at}`,
    ]),
  );

const packageTable =
  (round: RoundStatus['round']) =>
  (loads: readonly Load[]): Html =>
    table(
      ['Load', 'For', 'Package and SHA-256', 'Mode'],
      loads.map((load) => [
        load.id,
        html`${load.familyTitle}: ${labelFinder(round)(load).join(', ')}`,
        html`${load.package.name}<br><code>${load.package.sha256}</code>`,
        load.wipes ? `${load.mode}, WIPES` : load.mode,
      ]),
    );

/**
 * A4, black on white; headings of tables on every page, no row cut in two. Without kerning, so that codes can be copied
 * out of the PDF whole.
 */
const reportStyle = `
@page { size: A4; margin: 14mm 13mm 16mm; }
.report { width: 184mm; font-kerning: none; font-size: 9pt; line-height: 1.32; }
.report h1 { font-size: 17pt; line-height: 1.15; margin-bottom: 1.5mm; }
.report h2 { font-size: 11.5pt; margin: 6mm 0 1.5mm; border-bottom: .6mm solid; break-after: avoid; }
.report ul { margin: 0; padding-left: 5mm; }
.report li, .report td p { margin-bottom: .8mm; white-space: pre-line; }
.glance { display: flex; flex-wrap: wrap; gap: 0; margin-top: 4mm; border: .5mm solid; }
.glance div { flex: 1; padding: 1.2mm 2.5mm; border-right: .25mm solid; min-width: 15mm; }
.glance div:last-child { border-right: 0; }
.glance dd { font-size: 15pt; font-weight: 800; line-height: 1.1; }
.report table { border-collapse: collapse; width: 100%; }
.report thead { display: table-header-group; }
.report tr { break-inside: avoid; }
.report th { text-align: left; font-size: 8pt; border-bottom: .4mm solid; padding: .6mm 1.5mm .6mm 0; vertical-align: bottom; }
.report td, .report th { overflow-wrap: break-word; }
.report td { border-bottom: .2mm solid; padding: .8mm 1.5mm .8mm 0; vertical-align: top; }
.report td:first-child { font-weight: 700; }
.report code { font-family: var(--mono); font-size: 7pt; }
.sign { break-inside: avoid; }
.sign p { margin-top: 7mm; }
.sign .line { width: 70mm; }
.sign .short { width: 30mm; }
`;
