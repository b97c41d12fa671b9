import { catalogue, entryOf, type FindingCode } from '../../core/findings/catalogue.ts';
import { type Finding, inOrder, isAcceptable, severityOf, textsOf, type Verdict } from '../../core/findings/finding.ts';
import type { Severity } from '../../core/model/catalogue-entry.ts';
import { countInWords } from '../../core/text/words.ts';
import { inMargin, type Look, painter, paragraph, tame } from './page.ts';

const words: Record<Severity, string> = { stop: 'STOP', unproven: 'OPEN', caution: 'MIND', note: 'fyi' };
const colours = { stop: 'red', unproven: 'magenta', caution: 'yellow', note: 'gray' } as const;
const margin = 8;

/** All findings, stops first: the word, the code, then what, why it matters at the panel, and what to do. */
export function renderFindings(findings: readonly Finding[], look: Look): string {
  return inOrder(findings)
    .map((found) => renderFinding(found, look))
    .join('');
}

function renderFinding(found: Finding, look: Look): string {
  const paint = painter(look);
  const severity = severityOf(found);
  const { title, seen, why, todo } = textsOf(found);
  if (severity === 'note') return `${paint('gray', inMargin(words.note, `${seen}  [${found.code}]`, margin, look))}\n`;
  const head = inMargin(words[severity], `${sentence(title)}  [${found.code}]`, margin, look);
  const accepted = found.acceptedBecause;
  const lines = [
    paint(['bold', colours[severity]], head),
    inMargin('', seen, margin, look),
    inMargin('', `Why: ${why}`, margin, look),
    inMargin('', `Do:  ${todo}`, margin, look),
    ...(accepted === undefined ? [] : [inMargin('', `Accepted by a person, because: ${tame(accepted)}`, margin, look)]),
  ];
  return `${lines.join('\n')}\n`;
}

const sentence = (title: string): string => title.charAt(0).toUpperCase() + title.slice(1);

const verdictWords: Record<Verdict, string> = { ready: 'READY', 'not-ready': 'NOT READY', unproven: 'UNPROVEN' };
const verdictColours = { ready: 'green', 'not-ready': 'red', unproven: 'magenta' } as const;

/** `NOT READY: 1 stop, 2 to mind.` */
export function renderVerdict(verdict: Verdict, findings: readonly Finding[], look: Look): string {
  const count = (severity: Severity): number => findings.filter((found) => severityOf(found) === severity).length;
  const parts = [
    [count('stop'), 'stop', 'stops'],
    [count('unproven'), 'thing not proven', 'things not proven'],
    [count('caution'), 'thing to mind', 'things to mind'],
  ] as const;
  const said = parts.filter(([number]) => number > 0).map(([number, one, many]) => countInWords(number, one, many));
  // Not ready without a stop: the work did not come to its end.
  if (verdict === 'not-ready' && count('stop') === 0) said.unshift('not finished');
  const tail = said.length === 0 ? 'nothing in the way' : said.join(', ');
  return `${painter(look)(['bold', verdictColours[verdict]], verdictWords[verdict])}: ${tail}.\n`;
}

const explainMargin = 12;

/** What a code means, without a case at hand. */
export function renderExplanation(code: FindingCode, look: Look): string {
  const entry = entryOf(code);
  const lines = [
    painter(look)('bold', code),
    inMargin('What', `${entry.title.charAt(0).toUpperCase()}${entry.title.slice(1)}.`, explainMargin, look),
    inMargin('Weight', weights[entry.severity], explainMargin, look),
    inMargin('Why', entry.why, explainMargin, look),
    ...(typeof entry.todo === 'string' ? [inMargin('Do', entry.todo, explainMargin, look)] : []),
    inMargin('Override', isAcceptable(code) ? `--accept ${code} --because "…"` : 'none', explainMargin, look),
    inMargin('Source', entry.source, explainMargin, look),
  ];
  return `${lines.join('\n')}\n`;
}

const weights = {
  stop: 'STOP: the verdict is not ready',
  unproven: 'OPEN: nothing is wrong, but it could not be checked; the verdict is unproven',
  caution: 'MIND: know this before you go on',
  note: 'fyi',
};

/** Every code with its title, by area. */
export function renderAllCodes(look: Look): string {
  const codes = Object.keys(catalogue).sort() as FindingCode[];
  const width = Math.max(...codes.map((code) => code.length)) + 4;
  const lines = codes.map((code) =>
    inMargin(code, entryOf(code).title, width, { ...look, columns: Math.max(look.columns, width + 30) }),
  );
  return `${lines.join('\n')}\n\nOne of them: stickwright explain CODE\n`;
}

interface Failure {
  readonly code: string;
  readonly subject: string;
  readonly message: string;
  readonly todo: string;
}

/** Why there is no answer, and what to do. */
export function renderFailure({ code, message, todo }: Failure, look: Look): string {
  const head = painter(look)(['bold', 'red'], `No answer [${code}]`);
  return `${head}\n${paragraph(message, 2, look)}\n${paragraph(todo, 2, look)}\n`;
}

/**
 * The same of one stick or package of several, where the others have their answer. What happened is said as a piece of
 * a sentence in some errors, and is one here.
 */
export function renderError({ code, subject, message, todo }: Failure, look: Look): string {
  const head = painter(look)(['bold', 'red'], `  ERROR [${code}] ${tame(subject)}`);
  const said = message.trimEnd();
  return `${head}\n${paragraph(`${said}${/[.!?…]["”']?$/.test(said) ? '' : '.'} ${todo}`, 8, look)}\n`;
}
