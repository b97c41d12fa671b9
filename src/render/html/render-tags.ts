import type { Manifest } from '../../core/model/manifest.ts';
import { type Mode, modeTraits } from '../../core/model/mode.ts';
import type { StickTag } from '../../core/rounds/cards/make-cover.ts';
import { foreignInWords, foreignLetters } from '../../core/text/label-text.ts';
import { dayInZone } from '../zone.ts';
import { boxed, drawCode, drawHatch, line } from './draw-marks.ts';
import { type Html, html, inPageMargin, kept, nothing, pageDocument, type SheetLine } from './html.ts';
import { mmOfPt, textWidthEm } from './text-width.ts';

/** A tag for each stick, to cut out along the lines: two beside each other, on A4 and on Letter. */
export const renderTags = (tags: readonly StickTag[], sheet: SheetLine): string =>
  pageDocument(
    `Tags of the sticks, ${sheet.round}`,
    style + inPageMargin(sheet),
    html`<main>${tags.length === 0 ? html`<p>No stick is needed here.</p>` : tags.map((one) => tag(ofRound(one, sheet)))}</main>`,
  );

/** Tags of sticks that were prepared outside of a round, by what lies on them. */
export const renderSingleTags = (manifests: readonly Manifest[]): string =>
  pageDocument(
    `Tag of stick ${manifests.map(({ stick }) => stick).join(', ')}`,
    style,
    html`<main>${manifests.map((manifest) => tag(ofManifest(manifest)))}</main>`,
  );

/** What stands on a tag, whether it is one of a round or not. */
interface TagFacts {
  /** Null outside of a round. */
  readonly load: string | null;
  readonly code: string | null;
  readonly stick: string | null;
  readonly mode: Mode;
  readonly wipes: boolean;
  readonly build: string | null;
  readonly title: string;
  readonly labels: readonly string[];
  readonly preparedAt: string | null;
  readonly unproven: number;
  /** Where it goes, or what lies on it. */
  readonly below: string;
  readonly round: string;
}

const ofRound = ({ load, stick, preparedAt, rooms, labels, code, unproven }: StickTag, sheet: SheetLine): TagFacts => ({
  ...{ load: load.id, code, stick, mode: load.mode, wipes: load.wipes, build: load.package.build },
  ...{ title: load.familyTitle, labels, preparedAt, unproven: unproven.length, below: shortened(rooms) },
  round: `${sheet.round}, ${dayInZone(sheet.plannedAt)}`,
});

const ofManifest = (manifest: Manifest): TagFacts => ({
  ...{ load: null, code: null, stick: manifest.stick, mode: manifest.mode, wipes: !manifest.keepsData },
  ...{ build: manifest.archive.build, title: manifest.family?.title ?? '', labels: [manifest.label.text] },
  ...{ preparedAt: manifest.preparedAt, unproven: manifest.unproven.length, below: manifest.archive.name, round: '' },
});

/** Of a tag, inside its margins; and of its text beside the code. */
const wideMm = 82;
const besideMm = 48;

function tag(facts: TagFacts): Html {
  const { load, code, stick, mode, wipes, build, title, labels, preparedAt, unproven, below, round } = facts;
  const foreign = labels.flatMap((label) => foreignLetters(label));
  const isLong = build !== null && fittingPt(build, besideMm, 12) < 9;
  const buildLine = build === null ? nothing : oneLine('build', build, isLong ? wideMm : besideMm, 12);
  const side =
    code === null || load === null
      ? nothing
      : html`<div class="side">${drawCode(code, `Code for scanners: ${code}`)}<p class="load">${load}</p></div>`;
  return html`<article class="tag${code === null ? ' alone' : ''}" aria-label="Stick ${stick ?? 'to be prepared'}${load === null ? '' : `, load ${load}`}">
${labels.length === 0 ? nothing : html`<div class="whole">${labels.slice(0, mostLabels).map((label) => oneLine('label', label, wideMm, 15))}${labels.length > mostLabels ? html`<p>and ${labels.length - mostLabels} other labels</p>` : nothing}${foreign.length === 0 ? nothing : html`<p class="strong">${foreignInWords(foreign)}.</p>`}</div>`}
${side}
<div class="text"><p class="stick">${stick === null ? line : html`<bdi>${stick}</bdi>`}</p>
<p class="mode">${modeTraits[mode].inWords}${wipes ? '' : ', keeps data'}</p>
${isLong ? nothing : buildLine}
<p dir="auto">${title}</p>
<p>${preparedAt === null ? html`Prepared ${line}` : html`Prepared <b>${kept(dayInZone(preparedAt))}</b>`} ${boxed('verified')}</p>
${unproven === 0 ? nothing : html`<p class="strong">NOT PROVEN: ${unproven === 1 ? 'one thing' : `${unproven} things`}${load === null ? '' : ', see the cards'}</p>`}
<p class="rooms" dir="auto">${below}</p>${round === '' ? nothing : html`<p class="round" dir="auto">${round}</p>`}</div>
${isLong ? html`<div class="whole">${buildLine}</div>` : nothing}
${wipes ? html`<div class="wipes"><div class="bars">${drawHatch('bars')}</div><b>WIPES THE PANEL</b><div class="bars">${drawHatch('bars')}</div></div>` : nothing}
</article>`;
}

const mostLabels = 2;
const leastPt = 6.5;

const fittingPt = (text: string, columnMm: number, mostPt: number): number =>
  Math.min(mostPt, columnMm / (textWidthEm(text, 'mono') * 1.02 * mmOfPt));

/** As large as the line takes, so that it is read in one piece; what is beyond any line wraps at the least size. */
function oneLine(kind: string, text: string, columnMm: number, mostPt: number): Html {
  const pt = Math.floor(fittingPt(text, columnMm, mostPt) * 10) / 10;
  const whole = pt >= leastPt ? ' keep' : '';
  return html`<p class="${kind}${whole}" style="font-size:${Math.max(pt, leastPt)}pt"><bdi>${text}</bdi></p>`;
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
.tag { box-sizing: border-box; border: .25mm dashed; margin: 0 -.25mm -.25mm 0; padding: 4mm; display: grid; grid-template-columns: 29mm 1fr; grid-template-rows: auto 1fr auto; column-gap: 3.5mm; break-inside: avoid; font-size: 8.5pt; line-height: 1.2; align-content: start; }
.tag.alone { grid-template-columns: 1fr; }
.whole { grid-column: 1 / -1; min-width: 0; }
.label { font-family: var(--mono); font-weight: 700; }
.whole:first-child { border-bottom: .3mm solid; margin-bottom: 1mm; padding-bottom: .4mm; }
.qr { display: block; width: 29mm; height: 29mm; margin: -1mm 0 0 -2mm; }
.text { min-width: 0; }
.load { font-size: 30pt; font-weight: 800; line-height: 1; }
.load::before { content: "load"; font-size: 8.5pt; font-weight: 700; margin-right: 1.5mm; }
.stick { font-family: var(--mono); font-size: 24pt; font-weight: 700; line-height: 1.1; white-space: nowrap; min-height: 1.1em; }
.stick .line { width: 100%; height: .95em; }
.mode { font-size: 13pt; font-weight: 800; }
.build { font-family: var(--mono); font-weight: 700; }
.strong { font-weight: 700; }
.round { font-size: 7pt; }
.text .line { width: 20mm; }
.stick .line { width: 100%; }
.wipes { grid-column: 1 / -1; display: flex; align-items: center; gap: 2mm; border: .8mm solid; font-size: 13pt; font-weight: 900; line-height: 1.25; height: 6.6mm; white-space: nowrap; }
.wipes .bars { flex: 1; align-self: stretch; position: relative; }
.bars .hatch { position: absolute; inset: 0; width: 100%; height: 100%; }
`;
