import { type Finding, severityOf } from '../../core/findings/finding.ts';
import type { Load } from '../../core/model/round.ts';
import type { PreparedStick, RoundCardsReport, RoundPrepareReport } from '../../core/report/round-reports.ts';
import type { Preparation } from '../../core/rounds/prepare/list-preparations.ts';
import { countInWords } from '../../core/text/words.ts';
import { type Look, painter, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderError, renderFindings, renderVerdict } from './render-findings.ts';

const rule = '-'.repeat(72);

/** Which stick comes next, and for what. */
export function renderPreparation({ load, number, of }: Preparation, left: number, look: Look): string {
  const which = of === 1 ? '' : `, stick ${number} of ${of} with it`;
  const count = left === 1 ? 'the last stick' : `${left} sticks to go`;
  return [
    `${rule}\n`,
    painter(look)('bold', tame(`Load ${load.id}${which}  (${count})`)),
    '\n',
    fact('Package', `${load.package.name}, ${load.mode}`, look),
    fact('Panels', variantInWords(load), look),
    fact('Rooms', load.rooms.join(', '), look),
    load.wipes ? `${renderWipes(look)}\n` : '',
  ].join('');
}

const variantInWords = ({ familyTitle, variant }: Load): string =>
  `${familyTitle}: ${Object.entries(variant)
    .map(([part, value]) => `${part} ${value}`)
    .join(', ')}`;

/** To be seen from across the desk. */
function renderWipes(look: Look): string {
  const stars = '*'.repeat(52);
  const text = `*${'W I P E S   T H E   P A N E L'.padStart(39).padEnd(50)}*`;
  return `  ${[stars, text, stars].map((line) => painter(look)(['bold', 'red'], line)).join('\n  ')}`;
}

/** What became of one stick, and what to write on its tag. `shown`: findings that were told before it was written. */
export function renderPreparedStick(stick: PreparedStick, shown: ReadonlySet<Finding>, look: Look): string {
  const { report, error, findings, code, target } = stick;
  const [answer] = report?.sticks ?? [];
  const all = [...findings, ...(report?.findings ?? []), ...(answer?.findings ?? [])];
  const news = worthSaying(all).filter((found) => !shown.has(found));
  const problem = error === undefined ? '' : renderError(error, look);
  return [
    fact('Stick', target, look),
    news.length === 0 ? '' : `${renderFindings(news, look)}`,
    problem,
    renderVerdict(stick.verdict, all, look),
    code === undefined ? '' : `\n${renderTag(code, stick.preparation.load, look)}`,
    '\n',
  ].join('');
}

/** Of many sticks only what asks something of the person. */
export const worthSaying = (findings: readonly Finding[]): readonly Finding[] =>
  findings.filter((found) => severityOf(found) !== 'note');

/** What to write on the tag of a stick. */
function renderTag(code: string, load: Load, look: Look): string {
  const paint = painter(look);
  return [
    fact('Tag', `${code}    load ${load.id}    ${load.mode}`, look),
    fact('', variantInWords(load), look),
    load.wipes ? `${renderWipes(look)}\n` : '',
    paint('bold', fact('', 'Write this on the tag now, and tie it to the stick before you take the next one.', look)),
  ].join('');
}

/** The end of a run: what is there, what is still to be made, and how to go on. */
export function renderRoundPrepare(report: RoundPrepareReport, look: Look): string {
  const { sticks, left, dryRun } = report;
  const made = sticks.filter(({ code }) => code !== undefined);
  const failed = sticks.filter(({ code }) => code === undefined);
  const wide = { ...look, columns: 1_000 };
  const lines = [
    made.length === 0
      ? ''
      : fact('Prepared', made.map(({ code, preparation }) => `${code} (${preparation.load.id})`).join(', '), look),
    failed.length === 0 || dryRun
      ? ''
      : fact(
          'Not made',
          failed.map(({ target, preparation }) => `${target} (${preparation.load.id})`).join(', '),
          look,
        ),
    left.length === 0 ? '' : fact('To make', leftInWords(left), look),
    report.interrupted ? fact('Stopped', 'What was recorded is right; the same command goes on from there.', look) : '',
  ].join('');
  const next =
    left.length + report.ofOtherLoads > 0
      ? `stickwright round prepare --round ${quoted(report.place)}`
      : `stickwright round cards --round ${quoted(report.place)}`;
  const done =
    report.ofOtherLoads > 0
      ? `The loads that you named have their sticks; ${countInWords(report.ofOtherLoads, 'stick')} of other loads to make.\n`
      : 'Every stick that the round wants is prepared.\n';
  return [
    `${rule}\n`,
    report.findings.length === 0 ? '' : renderFindings(report.findings, look),
    lines,
    dryRun || left.length > 0 ? '' : done,
    fact('Next', next, wide),
  ].join('');
}

function leftInWords(left: readonly Preparation[]): string {
  const counts = new Map<Load, number>();
  for (const { load } of left) counts.set(load, (counts.get(load) ?? 0) + 1);
  return [...counts]
    .map(([load, count]) => `${countInWords(count, 'stick')} of load ${load.id}${load.wipes ? ' (WIPES)' : ''}`)
    .join(', ');
}

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

/** What was printed, where it lies, and what a person should know before it is carried away. */
export function renderRoundCards(report: RoundCardsReport, look: Look): string {
  const { place, files, dropped, cards, pages, tags, paper, without, findings } = report;
  const sheets = pages === cards ? 'one page each' : countInWords(pages, 'page');
  return [
    fact('Cards', `${countInWords(cards, 'card')}, ${sheets}, ${paper.toUpperCase()}`, look),
    fact('Tags', countInWords(tags, 'tag'), look),
    ...without.map(({ room, state }) => fact('No card', `${tame(room)}: ${state.replaceAll('-', ' ')}`, look)),
    fact('Folder', place, look),
    fact('Files', files.join(', '), look),
    dropped.length === 0 ? '' : fact('Removed', `${dropped.join(', ')}: printed earlier, and out of date now`, look),
    findings.length === 0 ? '' : `\n${renderFindings(findings, look)}`,
    '\nPrint at 100 %. Printers without that paper: two A5 pages (four of A6) on an A4 sheet.\n',
  ].join('');
}
