import { type Block, causeOf, inBlocks, saidOnce } from '../../core/findings/blocks.ts';
import { catalogue, entryOf, type FindingCode } from '../../core/findings/catalogue.ts';
import { type Finding, isAcceptable, severityOf, textsOf, type Verdict } from '../../core/findings/finding.ts';
import type { Severity } from '../../core/model/catalogue-entry.ts';
import { type ToolErrorCode, toolErrorMeanings } from '../../core/model/tool-error.ts';
import { countInWords } from '../../core/text/words.ts';
import { inMargin, type Look, painter, paragraph, tame } from './page.ts';

const margins: Record<Severity, string> = { stop: 'STOP', unproven: 'OPEN', caution: 'MIND', note: 'fyi' };
const colours = { stop: 'red', unproven: 'magenta', caution: 'yellow', note: 'gray' } as const;
const margin = 8;

/**
 * All findings, stops first: the word, the code, then what, why it matters at the panel, and what to do. What is true
 * of several things is said once, and what follows from another stands under it by its title.
 */
export function renderFindings(findings: readonly Finding[], look: Look): string {
  return inBlocks(findings)
    .map((block) => renderBlock(block, look))
    .join('');
}

function renderBlock({ alike, follows }: Block, look: Look): string {
  const [first] = alike;
  if (first === undefined) return '';
  const paint = painter(look);
  const severity = severityOf(first);
  const said = saidOnce(alike).map(({ finding, alsoOf }) => ({ ...textsOf(finding), alsoOf }));
  const also = (names: readonly string[]): string =>
    names.length === 0 ? '' : `\nThe same of ${countInWords(names.length, 'other')}: ${names.map(tame).join(', ')}.`;
  if (severity === 'note') {
    const words = said.map(({ seen, alsoOf }) => `${seen}  [${first.code}]${also(alsoOf)}`);
    return words.map((text) => `${paint('gray', inMargin(margins.note, text, margin, look))}\n`).join('');
  }
  const { title, why } = textsOf(first);
  const todos = new Set(said.map(({ todo }) => todo));
  const accepted = first.acceptedBecause;
  const under = follows
    .filter((found) => severityOf(found) !== 'note')
    .map((found) => `${sentence(textsOf(found).title)} [${found.code}].`);
  const lines = [
    paint(
      ['bold', colours[severity]],
      inMargin(margins[severity], `${sentence(title)}  [${first.code}]`, margin, look),
    ),
    ...said.flatMap(({ seen, todo, alsoOf }) => [
      inMargin('', `${seen}${also(alsoOf)}`, margin, look),
      ...(todos.size > 1 ? [inMargin('', `Do:  ${todo}`, margin, look)] : []),
    ]),
    inMargin('', `Why: ${why}`, margin, look),
    ...(todos.size > 1 ? [] : [...todos].map((todo) => inMargin('', `Do:  ${todo}`, margin, look))),
    ...(under.length === 0 ? [] : [inMargin('', `From this follows: ${under.join(' ')}`, margin, look)]),
    ...(accepted === undefined ? [] : [inMargin('', `Accepted by a person, because: ${tame(accepted)}`, margin, look)]),
  ];
  return `${lines.join('\n')}\n`;
}

const sentence = (title: string): string => title.charAt(0).toUpperCase() + title.slice(1);

const verdictWords: Record<Verdict, string> = { ready: 'READY', 'not-ready': 'NOT READY', unproven: 'UNPROVEN' };
const verdictColours = { ready: 'green', 'not-ready': 'red', unproven: 'magenta' } as const;

/** `NOT READY: 1 stop, 2 to mind.` What follows from another is not counted once more. */
export function renderVerdict(verdict: Verdict, findings: readonly Finding[], look: Look): string {
  const causes = findings.filter((found) => causeOf(found, findings) === undefined);
  const count = (severity: Severity): number => causes.filter((found) => severityOf(found) === severity).length;
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

/** Every code with its title, by area; or those of one AREA, and why the tool may have no answer about it. */
export function renderAllCodes(area: string | undefined, look: Look): string {
  const isAsked = (code: string): boolean => area === undefined || code.startsWith(`${area}/`);
  const codes = (Object.keys(catalogue).sort() as FindingCode[]).filter(isAsked);
  const errors = Object.entries(toolErrorMeanings).filter(([code]) => area !== undefined && isAsked(code));
  const lines = [
    ...codes.flatMap((code) => [`  ${code}`, paragraph(sentence(entryOf(code).title), 6, look)]),
    ...(errors.length === 0 ? [] : ['', paragraph('Why there may be no answer (exit code 3):', 0, look)]),
    ...errors.flatMap(([code, meaning]) => [`  ${code}`, paragraph(meaning, 6, look)]),
  ];
  return `${lines.join('\n')}\n\nOne of them: stickwright explain CODE. One area: stickwright explain AREA.\n`;
}

/** What the code of an error means; what helps stands beside the error itself. */
export const renderErrorMeaning = (code: ToolErrorCode, look: Look): string =>
  [
    painter(look)('bold', code),
    inMargin('What', toolErrorMeanings[code], explainMargin, look),
    inMargin('Weight', 'No answer: exit code 3. What helps for this one stands beside the error.', explainMargin, look),
    '',
  ].join('\n');

interface Failure {
  readonly code: string;
  readonly subject: string;
  readonly message: string;
  readonly todo: string;
}

/** Why there is no answer: what happened and where, and what helps for this one. */
export function renderFailure({ code, subject, message, todo }: Failure, look: Look): string {
  const head = painter(look)(['bold', 'red'], `No answer [${code}]`);
  return `${head}\n${paragraph(withPlace(subject, message), 2, look)}\n${paragraph(todo, 2, look)}\n`;
}

/** The place first, where the words do not name it themselves. */
const withPlace = (subject: string, message: string): string =>
  subject === '' || message.includes(subject) ? inSentence(message) : `${tame(subject)}: ${inSentence(message)}`;

/** What the system or a library says is a piece of a sentence, and is one here. */
function inSentence(message: string): string {
  const said = message.trimEnd();
  const whole = /[.!?…]["”']?$/.test(said) ? said : `${said}.`;
  return /^[a-z]+ /.test(whole) ? `${whole.charAt(0).toUpperCase()}${whole.slice(1)}` : whole;
}

/** What was in the way, and what to do. */
export const errorInSentences = ({ message, todo }: Pick<Failure, 'message' | 'todo'>): string =>
  `${inSentence(message)} ${todo}`;

/** The same of one stick or package of several, where the others have their answer. */
export function renderError({ code, subject, message, todo }: Failure, look: Look): string {
  const head = painter(look)(['bold', 'red'], `  ERROR [${code}] ${tame(subject)}`);
  return `${head}\n${paragraph(errorInSentences({ message, todo }), 8, look)}\n`;
}
