import { type Finding, verdictOf } from '../../core/findings/finding.ts';
import type { ArchiveFacts } from '../../core/model/archive-facts.ts';
import type { LabelReading, PackageReading } from '../../core/model/panel-identity.ts';
import type {
  InspectReport,
  LabelListReport,
  LabelReport,
  PrepareReport,
  StickAnswer,
  StickState,
  VerifyReport,
} from '../../core/report/reports.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { type Look, padded, tame } from './page.ts';
import { fact, renderArchive, renderLabel, renderStick } from './render-facts.ts';
import { renderError, renderFindings, renderVerdict } from './render-findings.ts';
import { renderAtThePanel, renderPlan } from './render-plan.ts';

export function renderInspect(report: InspectReport, look: Look): string {
  const label = report.label === undefined ? '' : renderLabel(report.label, look);
  return [
    renderArchive(report.archive, look),
    label,
    '\n',
    renderFindings(report.findings, look),
    '\n',
    renderVerdict(report.verdict, report.findings, look),
  ].join('');
}

export function renderLabelReport(report: LabelReport, look: Look): string {
  return [
    renderLabel(report.label, look),
    '\n',
    renderFindings(report.findings, look),
    '\n',
    renderVerdict(report.verdict, report.findings, look),
  ].join('');
}

/** One line a label, with its parts; what must be said about it below. */
export function renderLabelList(report: LabelListReport, look: Look): string {
  const lines = report.labels.map(({ line, reading, findings }) => {
    const [read, ...others] = reading.readings;
    const parts = read === undefined || others.length > 0 ? '' : Object.values(read.parts).join(' ');
    const verdict = verdictOf(findings);
    const words = verdict === 'ready' ? tame(parts) : `\n${renderFindings(findings, look)}`;
    return `${padded(tame(String(line)), 6)}${padded(tame(reading.normalised), 26)} ${words}`.trimEnd();
  });
  const all = report.labels.flatMap(({ findings }) => findings);
  return `${lines.join('\n')}\n\n${renderVerdict(report.verdict, all, look)}`;
}

/** What a person must see before they agree: the job, every finding, and for each stick the plan. */
export function renderProposal(
  job: { mode: string; archive: ArchiveFacts; package: PackageReading; label: LabelReading },
  findings: readonly Finding[],
  sticks: readonly StickAnswer[],
  look: Look,
  mostItems: number,
): string {
  const each = sticks.map((stick) => renderProposedStick(stick, look, mostItems)).join('\n');
  return [
    fact('Mode', job.mode, look),
    renderArchive({ facts: job.archive, package: job.package, digests: undefined, inside: undefined }, look),
    renderLabel(job.label, look),
    '\n',
    renderFindings(findings, look),
    findings.length > 0 ? '\n' : '',
    each,
  ].join('');
}

function renderProposedStick(stick: StickAnswer, look: Look, mostItems: number): string {
  const known = stick.facts === undefined ? fact('Stick', stick.target, look) : renderStick(stick.facts, look);
  const plan =
    stick.plan === undefined || stick.state !== 'planned' ? '' : `\n${renderPlan(stick.plan, look, mostItems)}`;
  const found = stick.findings.length === 0 ? '' : `\n${renderFindings(stick.findings, look)}`;
  return `${known}${plan}${found}`;
}

const stateWords: Record<StickState, string> = {
  planned: 'Dry run: nothing was written. Written as shown, the stick would be',
  refused: 'Nothing was written.',
  declined: 'Nothing was written: you said no.',
  written: 'Written, read back and recorded.',
  unchanged: 'Nothing had to be written; all of it was read and compared.',
  unfinished: 'Not finished.',
  failed: 'The tool could not go on with this stick.',
};

/** What became of each stick, after the work. */
export function renderOutcome(report: PrepareReport, shown: ReadonlySet<Finding>, look: Look): string {
  const fresh = (findings: readonly Finding[]): readonly Finding[] => findings.filter((found) => !shown.has(found));
  const common = fresh(report.findings);
  const sticks = report.sticks.map((stick) => {
    const all = [...report.findings, ...stick.findings];
    const news = fresh(stick.findings);
    return [
      report.sticks.length > 1 ? fact('Stick', stick.target, look) : '',
      news.length === 0 ? '' : `${renderFindings(news, look)}\n`,
      stick.error === undefined ? '' : renderError(stick.error, look),
      `${stateWords[stick.state]}\n`,
      renderVerdict(stick.verdict, all, look),
      afterwards(stick, look),
    ].join('');
  });
  const done = report.sticks.some(({ state }) => state === 'written' || state === 'unchanged');
  const news = common.length === 0 ? '' : `${renderFindings(common, look)}\n`;
  return `${news}${sticks.join('\n')}${done ? `\n${renderAtThePanel(report.mode, report.rules, look)}` : ''}`;
}

function afterwards({ state, manifest, target, facts, error }: StickAnswer, look: Look): string {
  const isImage = facts?.kind === 'image';
  switch (state) {
    case 'written':
    case 'unchanged':
      return [
        manifest === undefined
          ? ''
          : `\n${fact('Stick code', `${manifest.stick}  (write it on the tag, with the label and the mode)`, look)}`,
        fact(
          'Next',
          isImage
            ? 'Copy the image to a whole stick, eject it, pull it, and plug it in again. Then, before the walk:'
            : 'Eject the stick and wait until the system says that it can be pulled. Then, before the walk:',
          look,
        ),
        fact('', `stickwright verify ${isImage ? '<the stick>' : quoted(target)}`, look),
      ].join('');
    case 'unfinished':
    case 'failed':
      if (error?.code === 'stick/damaged') return ''; // the same command cannot help before what the error says is done
      return fact('Next', 'Run the same command again: it does the rest. Until then the stick says not ready.', look);
    case 'planned':
    case 'refused':
    case 'declined':
      return '';
  }
}

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

export function renderVerify(report: VerifyReport, look: Look): string {
  const { manifest } = report;
  const known =
    manifest === undefined
      ? ''
      : [
          fact('Stick code', manifest.stick, look),
          fact('Made for', manifest.label.text, look),
          fact(
            'Archive',
            `${manifest.archive.name}${manifest.archive.build === null ? '' : `, build ${manifest.archive.build}`}`,
            look,
          ),
          fact('Mode', manifest.keepsData ? manifest.mode : `${manifest.mode}: EVERYTHING ON THE PANEL IS WIPED`, look),
          fact('Prepared', manifest.preparedAt, look),
          fact(
            'Checked',
            `${report.filesRead} of ${countInWords(manifest.files.length, 'file')}, ${roundedSize(report.bytesRead)} read`,
            look,
          ),
        ].join('');
  return [
    renderStick(report.stick, look),
    known,
    '\n',
    renderFindings(report.findings, look),
    report.findings.length > 0 ? '\n' : '',
    renderVerdict(report.verdict, report.findings, look),
  ].join('');
}
