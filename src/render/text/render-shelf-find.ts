import type { PartComparison } from '../../core/model/panel-identity.ts';
import type { CompareReport, ShelfFindReport } from '../../core/report/shelf-reports.ts';
import { signatureInWords } from '../../core/shelf/check-chosen.ts';
import type { ShelfNearMiss } from '../../core/shelf/find-on-shelf.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { countInWords, exactSize } from '../../core/text/words.ts';
import { type Look, painter, paragraph, tame } from './page.ts';
import { fact, factInLines, renderLabel } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

const mostNearMisses = 12;

export function renderShelfFind(report: ShelfFindReport, look: Look): string {
  const { answer, findings, prepare } = report;
  const { chosen, steps, nearMisses } = answer;
  return [
    renderLabel(answer.label, look),
    chosen === undefined ? '' : renderChosen(chosen, look),
    steps.length < 2 ? '' : renderSteps(report, look),
    '\n',
    renderFindings(findings, look),
    nearMisses.length === 0 ? '' : `\n${renderNearMisses(nearMisses, look)}`,
    '\n',
    renderVerdict(report.verdict, findings, look),
    prepare === undefined ? '' : `\n${fact('Next', prepare, { ...look, columns: 1_000 })}`,
  ].join('');
}

function renderChosen({ record }: ShelvedPackage, look: Look): string {
  return [
    fact('Package', record.name, look),
    fact('', exactSize(record.bytes), look),
    record.build === null ? '' : fact('Build', record.build, look),
    fact('SHA-256', record.sha256, look),
    fact('Signer', signatureInWords(record.signature), look),
    record.note === null ? '' : factInLines('Note', record.note, look),
  ].join('');
}

function renderSteps({ answer }: ShelfFindReport, look: Look): string {
  const lines = answer.steps.map(({ build, because, shelved }, at) => {
    const name = shelved?.record.name ?? 'not on the shelf';
    return `${at + 1}. ${build}  ${name}${because === undefined ? '' : `  (${because})`}`;
  });
  return lines.map((line, at) => fact(at === 0 ? 'Way' : '', line, look)).join('');
}

/** Each with the part that keeps it from fitting, both sides by side. */
function renderNearMisses(nearMisses: readonly ShelfNearMiss[], look: Look): string {
  const shown = nearMisses.slice(0, mostNearMisses);
  const lines = shown.flatMap(({ shelved, parts }) => [
    `  ${tame(shelved.record.name)}`,
    paragraph(tame(parts.map(partInWords).join('; ')), 6, look),
  ]);
  const hidden = nearMisses.length - shown.length;
  if (hidden > 0) lines.push(`  … and ${countInWords(hidden, 'more', 'more')}`);
  return `${painter(look)('bold', 'Not for this panel')}\n${lines.join('\n')}\n`;
}

function partInWords({ part, label, other, relation }: PartComparison): string {
  switch (relation) {
    case 'differs':
      return `${part} ${other}, the label has ${label}`;
    case 'misread':
      return `${part} ${other}, the label has ${label}: look alike, read the plate again`;
    case 'missing':
      return other === undefined ? `its name does not say the ${part}` : `${part} ${other}, the label does not say`;
    case 'equal':
      return `${part} ${other}`;
  }
}

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
