import type { Conclusion } from '../../core/checks/returned/conclude.ts';
import type { LeftKind, SortedEntry } from '../../core/checks/returned/sort-contents.ts';
import type { Finding } from '../../core/findings/finding.ts';
import { countInWords, roundedSize } from '../../core/findings/words.ts';
import type { ClearingItem, ClearingPlan } from '../../core/plan/plan-clearing.ts';
import type { ClearingState, ReturnedReport } from '../../core/report/returned-report.ts';
import { exactSize, type Look, padded, painter, paragraph, tame } from './page.ts';
import { fact, renderStick } from './render-facts.ts';
import { renderFindings } from './render-findings.ts';

/** Whose stick it was, what it brings back, what that means, and what clearing would do; `most` limits what is listed, never what is counted. */
export function renderReturned(report: ReturnedReport, look: Look, most: number): string {
  const { clearing } = report;
  const plan = clearing.plan;
  const isAsked = clearing.state !== 'not-asked';
  return [
    renderStick(report.stick, look),
    renderOrigin(report, look),
    '\n',
    renderFindings(report.findings, look),
    report.findings.length > 0 ? '\n' : '',
    renderConclusion(report.conclusion, look),
    clearing.findings.length === 0 ? '' : `\n${renderFindings(clearing.findings, look)}`,
    plan === undefined || !isAsked || clearing.state === 'refused' ? '' : `\n${renderClearing(plan, look, most)}`,
    plan === undefined || isAsked ? '' : renderOffer(report, plan, look),
  ].join('');
}

function renderOrigin({ manifest, filesRead, bytesRead }: ReturnedReport, look: Look): string {
  if (manifest === undefined) return '';
  const { archive, keepsData, mode } = manifest;
  const build = archive.build === null ? '' : `, build ${archive.build}`;
  return [
    fact('Stick code', manifest.stick, look),
    fact('Made for', manifest.label.text, look),
    fact('Archive', `${archive.name}${build}`, look),
    fact('Mode', keepsData ? mode : `${mode}: EVERYTHING ON THE PANEL IS WIPED`, look),
    fact('Prepared', manifest.preparedAt, look),
    fact('Checked', `${filesRead} of ${manifest.files.length} files, ${roundedSize(bytesRead)} read`, look),
  ].join('');
}

const meanings: Readonly<Record<Conclusion, { readonly word: string; readonly text: string }>> = {
  'go-again': { word: 'MAY GO AGAIN', text: 'as it is, to a panel of the same label and mode.' },
  'not-proven': {
    word: 'NOT PROVEN',
    text: 'nothing is wrong, but not everything could be checked; verify it in full before it goes again.',
  },
  'prepare-anew': { word: 'PREPARE ANEW', text: 'do not walk with it as it is.' },
  'finish-clearing': { word: 'NOT FINISHED', text: 'finish the clearing, or prepare it for its next job.' },
  retire: { word: 'RETIRE IT', text: 'a stick with read errors does not go to a panel again.' },
};
const colours = {
  'go-again': 'green',
  'not-proven': 'magenta',
  'prepare-anew': 'yellow',
  'finish-clearing': 'yellow',
  retire: 'red',
} as const;

function renderConclusion(conclusion: Conclusion, look: Look): string {
  const { word, text } = meanings[conclusion];
  return `${painter(look)(['bold', colours[conclusion]], word)}: ${text}\n`;
}

/** Every path that goes and every path that stays. */
export function renderClearing(plan: ClearingPlan, look: Look, most: number): string {
  const paint = painter(look);
  const items = plan.steps.flat();
  const lines = [
    ...plan.kept.map((entry) => line('keep', entry.path, `${exactSize(entry.bytes)}, copied to the desk first`)),
    ...(plan.settlesDirtyMark ? [line('mark', 'the volume', 'as ejected: its tables and folders are sound')] : []),
    ...items.map((item) => renderItem(item, look)),
  ];
  const hidden = lines.length - most;
  const stays = plan.stays.map((entry) =>
    line('stays', nameOf(entry), `${exactSize(entry.bytes)}, ${reasons[entry.what]}`),
  );
  return [
    paint('bold', 'To be cleared'),
    ...lines.slice(0, most),
    ...(hidden > 0 ? [`  … and ${hidden.toLocaleString('en-US')} more; --json without --clear lists them all`] : []),
    ...stays,
    `  ${padded('Freed', 11)}${exactSize(plan.freedBytes)}`,
    '',
  ].join('\n');
}

const nameOf = ({ path, kind }: SortedEntry): string => (kind === 'folder' ? `${path}/` : path);

const line = (verb: string, name: string, detail: string): string =>
  `  ${padded(verb, 11)}${padded(tame(name), 36)} ${detail}`.trimEnd();

function renderItem(item: ClearingItem, look: Look): string {
  if (item.action === 'withdraw')
    return line('withdraw', item.path, 'first of all: from here on the stick says not ready');
  const size = item.kind === 'folder' ? 'folder' : exactSize(item.bytes);
  const said = item.changed ? ', CHANGED since it was prepared' : origins[item.what];
  return `  ${painter(look)('red', padded('DELETE', 11))}${padded(tame(item.path), 36)} ${size}${said}`.trimEnd();
}

const origins: Readonly<Record<LeftKind, string>> = {
  firmware: '',
  record: ', the tool’s own record',
  'panel-mark': ', left by a panel',
  'panel-log': ', log of a panel',
  'panel-file': ', file of a panel',
  'desk-mark': ', left by a computer',
  twin: ', left by a computer',
  'desk-bin': '',
  stayed: '',
  unexplained: '',
};

const reasons: Readonly<Record<LeftKind, string>> = {
  firmware: 'it holds something that stays',
  record: 'it holds something that stays',
  'panel-mark': 'it holds something that stays',
  'panel-log': 'log of a panel: --keep-left DIR copies it to the desk, then it may go',
  'panel-file': 'file of a panel: --keep-left DIR copies it to the desk, then it may go',
  'desk-mark': 'it holds something that stays',
  twin: '',
  'desk-bin': 'thrown away or recovered at a desk; look yourself',
  stayed: 'was there before: somebody’s',
  unexplained: 'nobody can explain it: perhaps somebody’s',
};

function renderOffer({ stick, conclusion }: ReturnedReport, plan: ClearingPlan, look: Look): string {
  if (conclusion === 'retire') return '';
  const goes = plan.steps.flat().filter(({ action }) => action === 'remove').length;
  const text = `Clearing it for the next job would take away ${countInWords(goes, 'file or folder', 'files and folders')} (${roundedSize(plan.freedBytes)}) and leave ${countInWords(plan.stays.length, 'thing')} where it is.`;
  return `\n${paragraph(text, 0, look)}\n${fact('Next', `stickwright verify ${quoted(stick.target)} --returned --clear`, look)}`;
}

const quoted = (text: string): string => (/^[\w./:\\-]+$/.test(text) ? text : `"${text}"`);

const ends: Readonly<Record<ClearingState, string>> = {
  'not-asked': '',
  refused: 'Nothing was cleared.',
  declined: 'Nothing was cleared: you said no.',
  cleared: 'Cleared, and looked at again. It is EMPTY of firmware: prepare it before it goes to a panel.',
  unfinished: 'Stopped before it was done: the stick says not ready. Run the same command again; it does the rest.',
};

/** The end of the command, after the rest was shown; `shown` are the findings that it does not repeat. */
export function renderCleared(
  { clearing, kept, stick }: ReturnedReport,
  shown: ReadonlySet<Finding>,
  look: Look,
): string {
  const news = clearing.findings.filter((found) => !shown.has(found));
  const isDone = clearing.state === 'cleared';
  return [
    kept === undefined
      ? ''
      : fact('Kept', `${countInWords(kept.files.length, 'file')} in ${kept.folder}, read back`, look),
    news.length === 0 ? '' : renderFindings(news, look),
    ends[clearing.state] === '' ? '' : `${ends[clearing.state]}\n`,
    isDone ? fact('Next', `stickwright prepare … --stick ${quoted(stick.target)}`, look) : '',
  ].join('');
}
