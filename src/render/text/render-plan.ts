import type { ModeRules } from '../../core/model/family.ts';
import { bytesToRead, type LayoutPlan, type PlanItem } from '../../core/model/layout-plan.ts';
import type { Mode } from '../../core/model/mode.ts';
import { alwaysMind, type PanelAdvice, panelAdvice } from '../../core/rounds/plan/usual-practice.ts';
import { countInWords, exactSize, roundedSize } from '../../core/text/words.ts';
import { inMargin, type Look, padded, painter, tame } from './page.ts';
import { fact } from './render-facts.ts';

/**
 * How long it takes, from memory: cheap sticks write 4 to 15 MB/s, good ones 20 to 100; USB 2.0 reads at about 35 MB/s.
 */
const slowWrite = 5e6;
const fastWrite = 30e6;
const readRate = 30e6;

/** The plan item by item, in the order it is carried out; `most` limits what is listed, never what is counted. */
export function renderPlan(plan: LayoutPlan, look: Look, most: number): string {
  const paint = painter(look);
  const shown = plan.items.slice(0, most).map((item) => renderItem(item, look));
  const hidden = plan.items.length - shown.length;
  const { freeBytesAfter, freeBytesNow, untouched, writeBytes, nothingToDo } = plan;
  const summary = nothingToDo
    ? ['  Nothing to write: the stick already holds this.']
    : [
        `  To write   ${exactSize(writeBytes)}; ${duration(plan)}`,
        `  Free       ${exactSize(freeBytesNow)} now, ${freeBytesAfter < 0 ? 'too little' : `about ${roundedSize(freeBytesAfter)}`} afterwards`,
      ];
  return [
    paint('bold', 'Plan'),
    ...shown,
    ...(hidden > 0 ? [`  … and ${hidden.toLocaleString('en-US')} more; --dry-run lists them all`] : []),
    ...(untouched.length > 0 ? [`  Stays      ${untouched.map(({ path }) => tame(path)).join(', ')}`] : []),
    ...summary,
    '',
  ].join('\n');
}

const verbs: Record<PlanItem['action'], string> = {
  withdraw: 'withdraw',
  'set-aside': 'set aside',
  remove: 'DELETE',
  keep: 'keep',
  'make-folder': 'folder',
  write: 'write',
  record: 'record',
};

function renderItem(item: PlanItem, look: Look): string {
  const paint = painter(look);
  const verb = padded(verbs[item.action], 11);
  const line = `  ${item.action === 'remove' ? paint('red', verb) : verb}${padded(tame(item.path), 36)} ${detail(item)}`;
  return line.trimEnd();
}

function detail(item: PlanItem): string {
  switch (item.action) {
    case 'write': {
      const clusters = item.clusters === undefined ? '' : `, ${countInWords(item.clusters, 'cluster')}`;
      return `${item.bytes.toLocaleString('en-US')} bytes${clusters}`;
    }
    case 'keep':
      return `${item.bytes.toLocaleString('en-US')} bytes, already right${item.staged ? ' (from the unfinished run)' : ''}`;
    case 'set-aside':
      return `to ${tame(item.to)}`;
    case 'remove':
      return item.kind === 'folder' ? 'folder' : `${item.bytes.toLocaleString('en-US')} bytes`;
    case 'record':
      return 'manifest and its lists, last';
    case 'withdraw':
      return 'of an earlier preparation';
    case 'make-folder':
      return '';
  }
}

function duration(plan: LayoutPlan): string {
  const { writeBytes } = plan;
  const readBytes = bytesToRead(plan);
  const minutes = (rate: number): number => Math.max(1, Math.ceil((writeBytes / rate + readBytes / readRate) / 60));
  const [fast, slow] = [minutes(fastWrite), minutes(slowWrite)];
  return fast === slow ? `about ${fast} min on a USB 2 stick` : `${fast} to ${slow} min on a USB 2 stick`;
}

const margin = 6;

/** What to do with the stick at the panel: the family's own words, and the cautions that always hold. */
export function renderAtThePanel(mode: Mode, rules: ModeRules, look: Look): string {
  const { port, minutes, steps, cautions, never, after } = panelAdvice(rules, mode);
  const inLines = (word: string, texts: readonly string[]) =>
    texts.map((text) => `${inMargin(word, text, margin, look)}\n`);
  return [
    `${painter(look)('bold', `At the panel, ${tame(mode)} mode`)}\n`,
    fact('Port', port, look),
    fact('Wait', waitInWords(minutes), look),
    ...steps.map((step, index) => `${inMargin(`${index + 1}.`, step, margin, look)}\n`),
    ...inLines(
      'x',
      never.map((what) => `Never ${what}.`),
    ),
    fact('Afterwards', `${after.join('; ')}.`, look),
    ...inLines('!', [
      ...(rules['keeps-data'] ? [] : ['Everything on the panel is wiped.']),
      ...cautions,
      ...alwaysMind,
    ]),
  ].join('');
}

/** How long a panel takes; without the maker's figure none is made up. */
const waitInWords = (minutes: PanelAdvice['minutes']): string =>
  minutes === null
    ? "as long as the maker's document states, and a margin"
    : `${minutes.from} to ${minutes.to} min, and a margin`;
