import { countInWords } from '../../core/findings/words.ts';
import type { RoundCardsReport } from '../../core/report/round-cards-report.ts';
import { type Look, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';

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
