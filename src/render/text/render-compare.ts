import type { CompareReport } from '../../core/report/shelf-reports.ts';
import type { Look } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

const orders = {
  newer: 'The package is newer than what runs.',
  same: 'The package is the build that runs.',
  older: 'The package is OLDER than what runs.',
  'cannot-order': 'Which of the two is newer cannot be told.',
};

/** A running build beside a package's: the answer, and the way there. */
export function renderCompare(report: CompareReport, look: Look): string {
  const { name, packaged, order, steps, findings } = report;
  const way = steps.length < 2 ? [] : steps.map(({ build, because }, at) => step(at, build, because));
  return [
    fact('Running', report.running, look),
    packaged === undefined ? '' : fact('Package', packaged, look),
    name === undefined ? '' : fact('', name, look),
    fact('Answer', order === undefined ? orders['cannot-order'] : orders[order], look),
    ...way.map((line, at) => fact(at === 0 ? 'Way' : '', line, look)),
    '\n',
    renderFindings(findings, look),
    '\n',
    renderVerdict(report.verdict, findings, look),
  ].join('');
}

const step = (at: number, build: string, because: string | undefined): string =>
  `${at + 1}. ${build}${because === undefined ? '' : ` (${because})`}`;
