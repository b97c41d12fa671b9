import type { Finding, Verdict } from '../../core/findings/finding.ts';
import type { GuidedJob } from '../../core/guide/guide-course.ts';
import type { Answers } from '../../core/guide/question.ts';
import type { Way } from '../../core/guide/which-way.ts';
import { type Look, painter, paragraph, tame } from './page.ts';
import { fact } from './render-facts.ts';
import { renderFindings, renderVerdict } from './render-findings.ts';

const plain: Look = { colour: false, columns: 80 };

/** What is worth seeing again of answers that were kept. */
const shownAnswers: readonly (readonly [id: string, name: string])[] = [
  ['label.line', 'Label'],
  ['label', 'Label'],
  ['package.path', 'Package'],
  ['package', 'Package'],
  ['running', 'Running'],
];

export function renderKept(answers: Answers): string {
  const seen = new Set<string>();
  const lines = shownAnswers
    .flatMap(([id, name]) => {
      const answer = answers[id] ?? '';
      if (answer === '' || answer === 'other' || answer.includes('\n') || seen.has(name)) return [];
      seen.add(name);
      return [fact(name, answer, plain)];
    })
    .join('');
  return `${lines}\n`;
}

/** The way, and what it does to the panel, before the plan is shown. */
export const renderGuidedJob = ({ way, mode }: GuidedJob): string =>
  `\n${fact('Way', `${mode}. ${way.reason}`, plain)}\n`;

const wayWords: Record<Way['way'], string> = {
  'over-the-air': 'OVER THE AIR, no stick needed',
  stick: 'A STICK',
  'stop-and-ask': 'STOP AND ASK, no stick yet',
};

export function renderGuideEnd(
  answer: { readonly verdict: Verdict } & ({ readonly way: Way } | { readonly findings: readonly Finding[] }),
  look: Look,
): string {
  if ('findings' in answer)
    return `${renderFindings(answer.findings, look)}\n${renderVerdict(answer.verdict, answer.findings, look)}`;
  const { way, reason, todo } = answer.way;
  const steps = todo.map((step, at) => `${paragraph(`${at + 1}. ${step}`, 2, look)}\n`).join('');
  return `\n${painter(look)('bold', wayWords[way])}\n${paragraph(reason, 2, look)}\n\n${steps}`;
}

/** It is there to be copied, so it is never broken. */
export const renderSameCommand = (line: string, look: Look): string =>
  `\n${fact('The same', 'in one command, next time:', look)}${tame(line)}\n`;

interface Glance {
  readonly facts: readonly (readonly [name: string, text: string])[];
  readonly next: { readonly why: string; readonly command: string };
}

/** At most twelve lines: one a fact, each cut to the page; the command alone on its line. */
export function renderGlance({ facts, next }: Glance, look: Look): string {
  const room = Math.max(20, look.columns - 14);
  const cut = (text: string): string => (text.length > room ? `${text.slice(0, room - 1)}…` : text);
  return [
    ...facts.map(([name, text]) => fact(name, cut(tame(text)), look)),
    `\n${paragraph(tame(next.why), 0, look)}\n  ${painter(look)('bold', tame(next.command))}\n`,
    '\nstickwright --help shows all commands.\n',
  ].join('');
}
