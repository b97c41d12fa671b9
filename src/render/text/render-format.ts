import { fileSystemInWords, tableInWords } from '../../core/findings/catalogue/stick.ts';
import { countInWords, listInWords, roundedSize } from '../../core/findings/words.ts';
import type { FormatPlan, FormatReport, Losses, MediumPlace } from '../../core/report/medium-reports.ts';
import { exactSize, type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

const mostNames = 12;

/** What a medium is and what would be lost with it. */
export function renderMedium({ target, kind, bytes, drive }: MediumPlace, losses: Losses, look: Look): string {
  const who = [drive?.maker, drive?.model].filter((word) => word !== undefined && word !== '').join(' ');
  return [
    fact('Medium', target, look),
    drive === undefined
      ? fact('', kind === 'new-image' ? 'a new image file' : 'an image file', look)
      : fact('', `${who || 'maker unknown'}; serial ${drive.serial || 'unknown'}`, look),
    fact('', exactSize(bytes), look),
    kind === 'new-image' ? '' : renderLosses(losses, look),
  ].join('');
}

function renderLosses({ readable, volumes, files, names }: Losses, look: Look): string {
  const paint = painter(look);
  if (!readable) return fact('To be lost', 'everything on it; it could not be read to say what', look);
  const lines = volumes.map(({ fileSystem, label, bytes, usedBytes }) => {
    const used = usedBytes === undefined ? '' : `, ${roundedSize(usedBytes)} used`;
    return `${fileSystemInWords(fileSystem)}${label === undefined ? '' : ` "${label}"`}, ${roundedSize(bytes)}${used}`;
  });
  const counted = files === undefined || files === 0 ? '' : countInWords(files, 'file');
  const named = names.length === 0 ? '' : `: ${listInWords(names, mostNames)}`;
  const content = files === 0 && names.length === 0 ? 'no files' : `${counted || 'files'}${named}`;
  const text = [
    ...(lines.length === 0 ? ['nothing that can be recognised'] : lines),
    ...(lines.length === 0 ? [] : [content]),
  ];
  return text
    .map((line, index) => paint(index === 0 ? 'bold' : 'reset', fact(index === 0 ? 'To be lost' : '', line, look)))
    .join('');
}

/** What will be made of it, and by which commands of the system. */
export function renderFormatPlan(
  { fileSystem, clusterBytes, clusters, volumeLabel, commands }: FormatPlan,
  look: Look,
): string {
  const cluster = clusterBytes === undefined ? '' : `, clusters of ${clusterBytes.toLocaleString('en-US')} bytes`;
  const count = clusters === undefined ? '' : ` (${clusters.toLocaleString('en-US')} of them)`;
  return [
    fact(
      'To be made',
      `${tableInWords('mbr')} with one partition; ${fileSystemInWords(fileSystem)}${cluster}${count}`,
      look,
    ),
    volumeLabel === undefined ? '' : fact('', `named ${volumeLabel}`, look),
    ...commands.map((command, index) => fact(index === 0 ? 'To be run' : '', command, look)),
  ].join('');
}

/** The end of the command: what was made and how sure that is. */
export function renderFormatOutcome(report: FormatReport, look: Look): string {
  const { state, made, readBack, findings, verdict, medium } = report;
  if (state === 'declined') return 'Nothing was written.\n';
  if (state === 'unfinished')
    return `${paragraph(`Stopped before it was done: what was on ${tame(medium.target)} is gone, and it is not formatted. Run the same command again.`, 0, look)}\n`;
  if (state === 'refused') return `${renderFindings(findings, look)}Nothing was written.\n`;
  const volume = made?.volumes[0];
  const free =
    volume?.freeClusters === undefined || volume.clusterBytes === undefined
      ? ''
      : `${exactSize(volume.freeClusters * volume.clusterBytes)} free; `;
  const through = readBack === 'medium' ? 'from the medium itself' : "through the operating system's memory";
  return [
    fact(
      'Formatted',
      `${medium.target}: ${fileSystemInWords(volume?.fileSystem ?? 'unknown')}, serial ${volume?.serial ?? 'unknown'}`,
      look,
    ),
    fact('', `${free}read back ${through}`, look),
    medium.kind === 'device' ? fact('', 'pull it and plug it in again before you go on', look) : '',
    renderFindings(findings, look),
    renderVerdict(verdict, findings, look),
  ].join('');
}
