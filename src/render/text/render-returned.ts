import stringWidth from 'string-width';
import type { Finding } from '../../core/findings/finding.ts';
import type { ReturnedReport } from '../../core/report/medium-reports.ts';
import {
  clearingWords,
  conclusionWords,
  entryInWords,
  itemInWords,
  whyItStays,
} from '../../core/report/medium-words.ts';
import type { Conclusion } from '../../core/returned/check-returned.ts';
import type { ClearingPlan } from '../../core/returned/plan-clearing.ts';
import { countInWords, exactSize, roundedSize } from '../../core/text/words.ts';
import { type Look, padded, painter, paragraph, tame } from './page.ts';
import { fact, renderStick } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';

/** Whose stick it was, what it brings back, what that means, and what clearing would do. */
export function renderReturned(report: ReturnedReport, look: Look): string {
  const { clearing } = report;
  const plan = clearing.plan;
  const isAsked = clearing.state !== 'not-asked';
  return [
    renderStick(report.stick, look),
    renderOrigin(report, look),
    '\n',
    renderFindings(report.findings, look),
    report.findings.length > 0 ? '\n' : '',
    renderConclusion(report.conclusion, look),
    clearing.findings.length === 0 ? '' : `\n${renderFindings(clearing.findings, look)}`,
    plan === undefined || !isAsked || clearing.state === 'refused' ? '' : `\n${renderClearing(plan, look)}`,
    plan === undefined || isAsked ? '' : renderOffer(report, plan, look),
  ].join('');
}

function renderOrigin({ manifest, filesRead, bytesRead }: ReturnedReport, look: Look): string {
  if (manifest === undefined) return '';
  const { archive, keepsData, mode } = manifest;
  const build = archive.build === null ? '' : `, build ${archive.build}`;
  return [
    fact('Stick code', manifest.stick, look),
    fact('Made for', manifest.label.text, look),
    fact('Archive', `${archive.name}${build}`, look),
    fact('Mode', keepsData ? mode : `${mode}: EVERYTHING ON THE PANEL IS WIPED`, look),
    fact('Prepared', manifest.preparedAt, look),
    fact(
      'Checked',
      `${filesRead} of ${countInWords(manifest.files.length, 'file')}, ${roundedSize(bytesRead)} read`,
      look,
    ),
  ].join('');
}

const colours = {
  'go-again': 'green',
  'not-proven': 'magenta',
  'prepare-anew': 'yellow',
  'finish-clearing': 'yellow',
  retire: 'red',
} as const;

function renderConclusion(conclusion: Conclusion, look: Look): string {
  const { word, text } = conclusionWords[conclusion];
  return `${painter(look)(['bold', colours[conclusion]], word)}: ${text}\n`;
}

/** Every path that goes and every path that stays, however many they are: this is what is agreed to. */
export function renderClearing(plan: ClearingPlan, look: Look): string {
  const items = plan.steps.flat();
  const goes = items.filter(({ action }) => action === 'remove').length;
  const line = (verb: string, name: string, detail: string): string => renderLine(verb, name, detail, look);
  return [
    painter(look)('bold', 'To be cleared'),
    ...plan.kept.map(({ path, bytes }) => line('keep', path, `${exactSize(bytes)}, copied to the desk first`)),
    ...(plan.settlesDirtyMark ? [line('mark', 'the volume', 'as ejected; it was checked and is sound')] : []),
    ...items.map((item) => line(item.action === 'withdraw' ? 'withdraw' : 'DELETE', item.path, itemInWords(item))),
    ...plan.stays.map((entry) =>
      line('stays', entryInWords(entry), `${exactSize(entry.bytes)}, ${whyItStays[entry.what]}`),
    ),
    line('in all', countInWords(goes, 'deletion'), `${exactSize(plan.freedBytes)} given back`),
    '',
  ].join('\n');
}

/** On one line where that is wide enough, else what is said of a name below it. */
function renderLine(verb: string, name: string, detail: string, look: Look): string {
  const shown = verb === 'DELETE' ? painter(look)('red', padded(verb, 11)) : padded(verb, 11);
  const whole = `${padded(tame(name), 32)} ${detail}`;
  const isWide = stringWidth(whole) + 13 <= look.columns;
  return isWide ? `  ${shown}${whole}` : `  ${shown}${tame(name)}\n${paragraph(detail, 15, look)}`;
}

function renderOffer({ stick, conclusion }: ReturnedReport, plan: ClearingPlan, look: Look): string {
  if (conclusion === 'retire') return '';
  const goes = plan.steps.flat().filter(({ action }) => action === 'remove').length;
  const text = `Clearing it for the next job would take away ${countInWords(goes, 'file or folder', 'files and folders')} (${roundedSize(plan.freedBytes)}) and leave ${countInWords(plan.stays.length, 'thing')} where it is.`;
  return `\n${paragraph(text, 0, look)}\n${fact('Next', `stickwright verify ${quoted(stick.target)} --returned --clear`, look)}`;
}

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

/** The end of the command, after the rest was shown; `shown` are the findings that it does not repeat. */
export function renderCleared(
  { clearing, kept, stick }: ReturnedReport,
  shown: ReadonlySet<Finding>,
  look: Look,
): string {
  const news = clearing.findings.filter((found) => !shown.has(found));
  const isDone = clearing.state === 'cleared';
  return [
    kept === undefined
      ? ''
      : fact('Kept', `${countInWords(kept.files.length, 'file')} in ${kept.folder}, read back`, look),
    news.length === 0 ? '' : renderFindings(news, look),
    clearingWords[clearing.state] === '' ? '' : `${paragraph(clearingWords[clearing.state], 0, look)}\n`,
    isDone ? fact('Next', `stickwright prepare … --stick ${quoted(stick.target)}`, look) : '',
  ].join('');
}
