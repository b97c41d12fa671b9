import { modeTraits } from '../../core/model/mode.ts';
import { makeCards, makeLookCards, type RoomCard } from '../../core/rounds/cards/make-cards.ts';
import { alwaysMind, stopAtOnce, usualMinutes } from '../../core/rounds/plan/usual-practice.ts';
import type { Pocket } from '../../core/rounds/pocket/make-pocket.ts';
import { gravestOf, onPaper } from '../../core/text/on-paper.ts';
import { ifItFails } from './card-words.ts';
import { Html, html, nothing, sheetWords } from './html.ts';

/** What runs in the phone, how it looks, and SHA-256 in base64 (CSP Level 3, 2.3.1). */
interface PocketParts {
  readonly script: string;
  readonly style: string;
  readonly sha256: (text: string) => string;
}

/**
 * The file for a phone. It asks for nothing: its policy allows its own script and style and no request. What it says
 * stands in it as a list that can be read where no script runs; the script puts itself in its place.
 */
export function renderPocket(pocket: Pocket, { script, style, sha256 }: PocketParts): string {
  // What would end the element would end it anywhere, also inside a string (HTML, 4.12.1.3).
  const code = script.replace(/<(?=\/script|!--)/gi, '\\x3c');
  const data = JSON.stringify(pocket).replaceAll('<', '\\u003c');
  const policy = [
    "default-src 'none'",
    `script-src 'sha256-${sha256(code)}'`,
    `style-src 'sha256-${sha256(style)}'`,
    // Pictures that a person takes of a code, and the film of the camera.
    'img-src blob: data:',
    'media-src blob: mediastream:',
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  return html`<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${new Html(policy)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="robots" content="noindex">
<title>${`Round ${pocket.name}, ${pocket.who}`}</title>
<style>${new Html(style)}</style>
</head>
<body>
<div id="pocket">${listOf(pocket)}</div>
<script type="application/json" id="pocket-data">${new Html(data)}</script>
<script>${new Html(code)}</script>
</body>
</html>
`.markup;
}

/** The whole of it, to be read from top to bottom. */
function listOf(pocket: Pocket): Html {
  const { round, records, order, who } = pocket;
  const cards = makeCards(round, records);
  const looks = new Map(makeLookCards(round).map((look) => [look.room.key, look]));
  const rooms = new Map(round.rooms.map((room) => [room.key, room]));
  return html`<main class="list">
<h1>${`Round ${pocket.name}: ${order.length === 1 ? '1 room' : `${order.length} rooms`} for ${who}`}</h1>
<p>${`${sheetWords({ round: pocket.name, plannedAt: round.plannedAt })}; file ${pocket.id}.`}</p>
<p>This is the list alone. Where scripts run, it can be filled in here. Where they do not, note on paper what was done.</p>
<p><b>Stop at once:</b> ${stopAtOnce}. <b>Safety:</b> ${alwaysMind.join(' ')}</p>
<ol>${order.map((key) => {
    const room = rooms.get(key);
    if (room === undefined) return nothing;
    const own = cards.filter((card) => card.room.key === key);
    const look = looks.get(key);
    const said = gravestOf(room.findings);
    return html`<li class="plate"><h2 dir="auto">${room.room}</h2>
<p>${[room.asset && `Asset ${room.asset}`, room.serial && `Serial ${room.serial}`].filter(Boolean).join(', ')}</p>
<p>Label <b class="mono">${room.label}</b></p>${room.notes === null ? nothing : html`<p>Note: <span dir="auto">${room.notes}</span></p>`}
${own.map((card) => cardOf(card))}${
  look === undefined
    ? nothing
    : html`<p><b>No stick: it updates itself; look later.</b> ${look.reason} ${look.todo.join(' ')} Build to expect: ${look.build ?? 'not known'}.</p>`
}${
  own.length > 0 || look !== undefined
    ? nothing
    : html`<p><b>${room.state === 'up-to-date' ? 'Nothing to do: it is up to date.' : 'Nothing to do here before the desk has decided.'}</b> ${said === undefined ? '' : `${said.title}. ${onPaper(said.todo)}`}</p>`
}</li>`;
  })}</ol>
${round.loads.map(
  ({ id, panel, package: { name }, mode }) => html`<section class="plate"><h2>Load ${id}</h2><p>${name}</p>
<p>Port: ${panel.port}. Wait: ${waitOf(panel.minutes, mode)}.</p>${panel.cautions.length === 0 ? nothing : html`<p>Mind: ${panel.cautions.join(' ')}</p>`}
<ol>${panel.steps.map((step) => html`<li>${step}</li>`)}</ol>
<h3>Never</h3><ul>${panel.never.map((step) => html`<li>${step}</li>`)}</ul>
<h3>Afterwards</h3><ul>${panel.after.map((step) => html`<li>${step}</li>`)}</ul></section>`,
)}
<p><b>If it fails:</b> ${ifItFails}</p>
</main>`;
}

function cardOf({ load, sticks, step, steps, buildBefore, build, approval, because, unproven }: RoomCard): Html {
  const wipe = load.wipes
    ? html`<p class="told stop"><b>THIS WIPES THE PANEL.</b> ${approval === null ? 'WAIT: nobody approved it.' : `Approved by ${approval}.`}</p>`
    : nothing;
  return html`<p>${steps > 1 ? `Stick ${step} of ${steps}: ` : ''}stick <b class="mono">${sticks.join(' or ') || 'not prepared'}</b>, load ${load.id}, ${modeTraits[load.mode].inWords}${load.wipes ? '' : ', keeps data'}; build ${buildBefore ?? 'not known'} → <b class="mono">${build}</b>${because === null ? '' : ` (${because})`}${unproven.length > 0 ? '. Not all of it is proven' : ''}</p>${wipe}`;
}

const waitOf = (
  minutes: { readonly from: number; readonly to: number } | null,
  mode: keyof typeof usualMinutes,
): string =>
  minutes === null
    ? `see the maker's document; ${usualMinutes[mode].from} to ${usualMinutes[mode].to} minutes is usual`
    : `${minutes.from} to ${minutes.to} minutes, and a margin`;
