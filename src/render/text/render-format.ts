import { fileSystemInWords } from '../../core/findings/catalogue/stick.ts';
import type {
  EjectOutcome,
  FormatPlan,
  FormatReport,
  Losses,
  MediumPlace,
  ProveReport,
} from '../../core/report/medium-reports.ts';
import { lossesInWords, planInWords } from '../../core/report/medium-words.ts';
import { exactSize, roundedSize } from '../../core/text/words.ts';
import { type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

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

function renderLosses(losses: Losses, look: Look): string {
  const paint = painter(look);
  return lossesInWords(losses)
    .map((line, index) => paint(index === 0 ? 'bold' : 'reset', fact(index === 0 ? 'To be lost' : '', line, look)))
    .join('');
}

/** What will be made of it, and by which commands of the system. */
export function renderFormatPlan(plan: FormatPlan, look: Look): string {
  const { volumeLabel, commands } = plan;
  return [
    fact('To be made', planInWords(plan), look),
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

/** What a proof has shown, and what to do with the stick now. */
export function renderProof({ proof, findings, verdict, state, target }: ProveReport, look: Look): string {
  if (state === 'declined' || proof === undefined) return 'Nothing was written.\n';
  const speed = (bytes: number | undefined): string => (bytes === undefined ? 'unknown' : `${roundedSize(bytes)}/s`);
  const whole = proof.finished && proof.how === 'whole' && verdict === 'ready';
  return [
    fact('Proved', target, look),
    fact('', `${exactSize(proof.testedBytes)} of ${exactSize(proof.statedBytes)} written and read back`, look),
    fact('', `writes ${speed(proof.writeBytesPerSecond)}, reads ${speed(proof.readBytesPerSecond)}`, look),
    whole ? fact('', `the stick holds all of its ${exactSize(proof.statedBytes)}`, look) : '',
    proof.how === 'free-space' ? '' : fact('', 'nothing is on it now: format it before use (stickwright format)', look),
    renderFindings(findings, look),
    renderVerdict(verdict, findings, look),
  ].join('');
}

/** `You can pull /dev/sdb now.`, or why not yet, or why there is nothing to pull. */
export function renderEject({ target, state, reason = '', todo = '' }: EjectOutcome, look: Look): string {
  const paint = painter(look);
  switch (state) {
    case 'pull-it-now':
      return `${paint(['bold', 'green'], tame(`You can pull ${target} now.`))}\n`;
    case 'nothing-to-eject':
      return `${tame(`Nothing to eject at ${target}: ${reason}.`)}\n`;
    case 'not-yet': {
      const head = paint(['bold', 'yellow'], tame(`Do not pull ${target} yet.`));
      return `${head}\n${paragraph(tame(`It could not be let go of: ${reason}`), 2, look)}\n${paragraph(tame(todo), 2, look)}\n`;
    }
  }
}
