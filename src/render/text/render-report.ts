import { type Finding, severityOf, verdictOf } from '../../core/findings/finding.ts';
import type { ArchiveFacts } from '../../core/model/archive-facts.ts';
import type { ModeRules } from '../../core/model/family.ts';
import type { Manifest } from '../../core/model/manifest.ts';
import type { Mode } from '../../core/model/mode.ts';
import type { LabelReading, PackageReading } from '../../core/model/panel-identity.ts';
import type { ToolErrorCode } from '../../core/model/tool-error.ts';
import { stateWords } from '../../core/report/job-meters.ts';
import type {
  InspectReport,
  LabelListReport,
  LabelReport,
  PrepareReport,
  StickAnswer,
  VerifyReport,
} from '../../core/report/reports.ts';
import { countInWords, roundedSize } from '../../core/text/words.ts';
import { inMargin, type Look, padded, tame } from './page.ts';
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

/** What became of each stick, after the work. */
export function renderOutcome(report: PrepareReport, shown: ReadonlySet<Finding>, look: Look): string {
  const isFresh = (found: Finding): boolean => !shown.has(found);
  const common = report.findings.filter(isFresh);
  const wasWork = report.sticks.some(({ state }) => !['refused', 'declined', 'planned'].includes(state));
  const sticks = report.sticks.map((stick) => {
    const all = [...report.findings, ...stick.findings];
    // While the others were written, what stopped this one went out of sight.
    const isDue = (found: Finding): boolean => wasWork && stick.state === 'refused' && severityOf(found) === 'stop';
    const news = stick.findings.filter((found) => isFresh(found) || isDue(found));
    return [
      report.sticks.length > 1 ? fact('Stick', stick.target, look) : '',
      news.length === 0 ? '' : `${renderFindings(news, look)}\n`,
      stick.error === undefined ? '' : renderError(stick.error, look),
      `${stateWords[stick.state]}\n`,
      renderVerdict(stick.verdict, all, look),
      afterwards(stick, report, look),
    ].join('');
  });
  const done = report.sticks.some(
    ({ state, verdict }) => verdict !== 'not-ready' && (state === 'written' || state === 'unchanged'),
  );
  const news = common.length === 0 ? '' : `${renderFindings(common, look)}\n`;
  return `${news}${sticks.join('\n')}${done ? `\n${renderMind(report, look)}` : ''}`;
}

/** What nobody may forget on the way to the panel; all else is on the card, and in `verify --steps`. */
function renderMind({ rules, label }: PrepareReport, look: Look): string {
  const wipe = rules['keeps-data'] ? [] : ['EVERYTHING ON THE PANEL IS WIPED. Only with approval, and after a backup.'];
  const texts = [
    ...wipe,
    `Into no other panel: compare its plate with ${label.text}.`,
    "The maker's service documents first. Step by step: the same verify with --steps.",
  ];
  return texts.map((text) => `${inMargin('!', text, 4, look)}\n`).join('');
}

function afterwards(stick: StickAnswer, { mode, rules }: PrepareReport, look: Look): string {
  const { state, manifest, target, facts, error } = stick;
  const isImage = facts?.kind === 'image';
  switch (state) {
    case 'written':
    case 'unchanged':
      // What was found after the writing sends it nowhere: its findings say what to do.
      if (stick.verdict === 'not-ready') return '';
      return [
        manifest === undefined
          ? ''
          : `\n${fact('Stick code', manifest.stick, look)}${fact('On the tag', tagInWords(manifest, mode, rules), look)}`,
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
      // Elsewhere the same command cannot help before what the error says is done.
      if (error !== undefined && !goesOn.has(error.code)) return '';
      return fact('Next', 'Run the same command again: it does the rest. Until then the stick says not ready.', look);
    case 'planned':
    case 'refused':
    case 'declined':
      return '';
  }
}

/** What may be over by itself: the stick was pulled, or a contact was loose. */
const goesOn: ReadonlySet<ToolErrorCode> = new Set<ToolErrorCode>([
  'stick/gone',
  'stick/read-failed',
  'stick/write-failed',
]);

const tagInWords = ({ stick, label }: Manifest, mode: Mode, rules: ModeRules): string =>
  `${stick}, ${label.text}, ${mode}${rules['keeps-data'] ? '' : ': WIPES THE PANEL'}`;

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

/** RULES: what to do at the panel, where that is to be said. */
export function renderVerify(report: VerifyReport, rules: ModeRules | undefined, look: Look): string {
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
    manifest === undefined || rules === undefined ? '' : `\n${renderAtThePanel(manifest.mode, rules, look)}`,
  ].join('');
}
