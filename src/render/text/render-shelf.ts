import type {
  ShelfAddition,
  ShelfAddReport,
  ShelfCheckReport,
  ShelfExportReport,
  ShelfListReport,
  ShelfRemoveReport,
} from '../../core/report/shelf-reports.ts';
import { signatureInWords } from '../../core/shelf/check-chosen.ts';
import type { ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { countInWords, exactSize, roundedSize } from '../../core/text/words.ts';
import { dayInZone } from '../zone.ts';
import { inMargin, type Look, painter, tame } from './page.ts';
import { fact, factInLines } from './render-facts.ts';
import { renderError, renderFindings, renderVerdict } from './render-findings.ts';

const additionWords: Record<ShelfAddition['state'], string> = {
  added: 'Added to the shelf. The package is',
  there: 'Already on the shelf; nothing was added. The package is',
  restored: 'The copy on the shelf was damaged; this one took its place. The package is',
  proven: 'Already on the shelf; what was open in its record is settled. The package is',
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
  const error = one.error === undefined ? '' : renderError(one.error, look);
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
  /** Size, day and the longest state behind them. */
  const isWide = widths.name + widths.build + 2 + 8 + 2 + 10 + 2 + 16 > look.columns;
  let family: string | null | undefined;
  const lines = packages.flatMap(({ record }) => {
    const title = record.family === family ? [] : [painter(look)('bold', record.family ?? '(read by no family)')];
    family = record.family;
    const size = roundedSize(record.bytes).padStart(8);
    const rest = `${tame(record.build ?? '').padEnd(widths.build)}${size}  ${dayInZone(record.addedAt)}  ${stateInWords(record)}`;
    if (isWide) return [...title, `  ${tame(record.name)}`, `      ${rest}`];
    return [...title, `  ${tame(record.name).padEnd(widths.name)}${rest}`];
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
    record.note === null ? '' : factInLines('Note', record.note, look),
    fact('File', path, look),
  ].join('');
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
