import { signatureInWords } from '../../core/checks/shelf/check-provenance.ts';
import { countInWords, roundedSize } from '../../core/findings/words.ts';
import type { PartComparison } from '../../core/model/panel-identity.ts';
import type {
  ShelfAddition,
  ShelfAddReport,
  ShelfCheckReport,
  ShelfExportReport,
  ShelfFindReport,
  ShelfListReport,
  ShelfRemoveReport,
} from '../../core/report/shelf-reports.ts';
import type { ShelfNearMiss } from '../../core/shelf/find-on-shelf.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { exactSize, inMargin, type Look, padded, painter, paragraph, tame } from './page.ts';
import { fact, renderLabel } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

const additionWords: Record<ShelfAddition['state'], string> = {
  added: 'Added to the shelf. The package is',
  there: 'Already on the shelf; nothing was added. The package is',
  restored: 'The copy on the shelf was damaged; this one took its place. The package is',
  refused: 'Not added. The package is',
  failed: 'The tool could not go on with this package. It is',
};

export function renderShelfAdd(report: ShelfAddReport, look: Look): string {
  const each = report.additions.map((one) => renderAddition(one, look));
  const shelf = fact('Shelf', report.place, look);
  const common = report.findings.length === 0 ? '' : `${renderFindings(report.findings, look)}\n`;
  return `${shelf}${common}${each.join('\n')}`;
}

function renderAddition(one: ShelfAddition, look: Look): string {
  const error =
    one.error === undefined
      ? ''
      : `${painter(look)(['bold', 'red'], `  ERROR [${one.error.code}] ${tame(one.error.subject)}`)}\n${paragraph(`${tame(one.error.message)} ${one.error.todo}`, 8, look)}\n`;
  return [
    fact('Package', one.archivePath, look),
    renderFindings(one.findings, look),
    error,
    `${additionWords[one.state]} `,
    renderVerdict(one.verdict, one.findings, look),
  ].join('');
}

/** One line a package under its family; with names, all that is known of each. */
export function renderShelfList(report: ShelfListReport, look: Look): string {
  const { packages, findings, place } = report;
  const bytes = packages.reduce((sum, { record }) => sum + record.bytes, 0);
  const body = report.whole
    ? packages.map((one) => `${renderShelvedPackage(one, look)}\n`).join('')
    : renderTable(packages, look);
  const total = `${countInWords(packages.length, 'package')}, ${roundedSize(bytes)}, at ${tame(place)}\n`;
  if (findings.length === 0) return report.whole ? body : `${body}${total}`;
  return `${body}${total}\n${renderFindings(findings, look)}\n${renderVerdict(report.verdict, findings, look)}`;
}

function renderTable(packages: readonly ShelvedPackage[], look: Look): string {
  const widths = {
    name: Math.max(0, ...packages.map(({ record }) => record.name.length)) + 2,
    build: Math.max(0, ...packages.map(({ record }) => record.build?.length ?? 0)) + 2,
  };
  let family: string | null | undefined;
  const lines = packages.flatMap(({ record }) => {
    const title = record.family === family ? [] : [painter(look)('bold', record.family ?? '(read by no family)')];
    family = record.family;
    const size = roundedSize(record.bytes).padStart(8);
    const line = `  ${tame(record.name).padEnd(widths.name)}${tame(record.build ?? '').padEnd(widths.build)}${size}  ${record.addedAt.slice(0, 10)}  ${stateInWords(record)}`;
    return [...title, line.trimEnd()];
  });
  return lines.length === 0 ? '' : `${lines.join('\n')}\n`;
}

function stateInWords({ result, signature }: ShelvedPackage['record']): string {
  const accepted = result.findings.some(({ acceptedBecause }) => acceptedBecause !== undefined);
  const verdict = accepted ? 'STOP accepted' : result.verdict;
  return signature.state === 'intact' ? `${verdict}, signed` : verdict;
}

/** All that the record says. */
export function renderShelvedPackage({ path, record }: ShelvedPackage, look: Look): string {
  const findings = record.result.findings.map(({ code, title, seen, acceptedBecause }) =>
    inMargin(
      '',
      `${title} [${code}]: ${tame(seen)}${acceptedBecause === undefined ? '' : ` Accepted, because: ${tame(acceptedBecause)}`}`,
      13,
      look,
    ),
  );
  return [
    fact('Package', record.name, look),
    fact('', exactSize(record.bytes), look),
    record.build === null ? '' : fact('Build', record.build, look),
    record.family === null ? '' : fact('Family', record.family, look),
    fact('SHA-256', record.sha256, look),
    fact('Signer', signatureInWords(record.signature), look),
    fact('From', record.from ?? 'not said', look),
    fact('Added', record.addedAt, look),
    fact('Result', record.result.verdict, look),
    findings.length === 0 ? '' : `${findings.join('\n')}\n`,
    record.note === null ? '' : fact('Note', record.note.trim(), look),
    fact('File', path, look),
  ].join('');
}

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
    record.note === null ? '' : fact('Note', record.note.trim(), look),
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
  const width = Math.max(...shown.map(({ shelved }) => shelved.record.name.length)) + 2;
  const lines = shown.map(
    ({ shelved, parts }) => `  ${padded(tame(shelved.record.name), width)}${tame(parts.map(partInWords).join('; '))}`,
  );
  const hidden = nearMisses.length - shown.length;
  if (hidden > 0) lines.push(`  … and ${countInWords(hidden, 'more')}`.replace(/s$/, ''));
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

export function renderShelfCheck(report: ShelfCheckReport, look: Look): string {
  const read = `${countInWords(report.packagesRead, 'package')}, ${exactSize(report.bytesRead)}`;
  const found = report.findings.length === 0 ? '' : `${renderFindings(report.findings, look)}\n`;
  return [
    fact('Shelf', report.place, look),
    fact('Read', read, look),
    '\n',
    found,
    renderVerdict(report.verdict, report.findings, look),
  ].join('');
}

/** After `remove` and `export`: what was done, in the findings. */
export function renderShelfDone(report: ShelfRemoveReport | ShelfExportReport, look: Look): string {
  if (report.command === 'shelf remove' && report.declined) return 'Nothing was removed: you said no.\n';
  return `${renderFindings(report.findings, look)}\n${renderVerdict(report.verdict, report.findings, look)}`;
}
