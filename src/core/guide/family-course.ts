import { type FleetExamples, proposeFamily } from '../label/propose-family.ts';
import { type NamedParts, proposePattern } from '../label/propose-pattern.ts';
import { readWithGrammar } from '../label/read-with-grammar.ts';
import type { Parts } from '../model/panel-identity.ts';
import { normaliseLabel, upperForComparing } from '../text/label-text.ts';
import { visible } from '../text/visible.ts';
import { type Answers, answerTo, firstOpen, objectionTo, type Question } from './question.ts';
import { guessTableParts, isBuild } from './table-family.ts';

export type FamilyStep =
  | { readonly step: 'ask'; readonly question: Question }
  | { readonly step: 'propose'; readonly examples: FleetExamples };

/** Labels and package names of a fleet one after the other, each with its parts in a line that is checked at once. */
export function nextOfFamily(answers: Answers, who: string): FamilyStep {
  const known = { labels: [] as NamedParts[], packages: [] as NamedParts[] };
  const begin = firstOpen([nameQuestion, titleQuestion(answers)], answers);
  if (begin !== undefined) return { step: 'ask', question: begin };
  for (const what of ['label', 'package'] as const) {
    const found = what === 'label' ? known.labels : known.packages;
    for (;;) {
      const text = textQuestion(what, found.length);
      const open = firstOpen([text], answers);
      if (open !== undefined) return { step: 'ask', question: open };
      const said = (answerTo(answers, text.id) ?? '').trim();
      if (said === '') break;
      const parts = partsQuestion(what, said, known);
      const openParts = firstOpen([parts], answers);
      if (openParts !== undefined) return { step: 'ask', question: openParts };
      found.push({ text: said, parts: readParts(answerTo(answers, parts.id) || parts.otherwise || '') });
    }
  }
  const examples = examplesOf(answers, known, who);
  const last = firstOpen([...absentQuestions(examples), whereQuestion], answers);
  return last === undefined ? { step: 'propose', examples } : { step: 'ask', question: last };
}

/** A course as it stands on paper: what was answered so far can be changed at any time. */
export interface FamilySheet {
  readonly asked: readonly Question[];
  readonly open: Question | undefined;
  /** All that a family is made of; undefined while something is open. */
  readonly examples: FleetExamples | undefined;
  /** How the patterns that follow so far read every example; undefined for one that they do not read. */
  readonly readings: readonly { readonly text: string; readonly parts: Parts | undefined }[];
}

export function familySheet(answers: Answers, who: string): FamilySheet {
  const asked: Question[] = [];
  let given: Answers = {};
  for (;;) {
    const next = nextOfFamily(given, who);
    if (next.step === 'propose') {
      const readings = proposeFamily(next.examples).proposal?.readings ?? [];
      return { asked, open: undefined, examples: next.examples, readings };
    }
    const { question } = next;
    const answer = answerTo(answers, question.id);
    if (answer === undefined || objectionTo(question, answer) !== undefined)
      return { asked, open: question, examples: undefined, readings: readSoFar(given) };
    asked.push(question);
    given = { ...given, [question.id]: answer };
  }
}

function readSoFar(answers: Answers): FamilySheet['readings'] {
  return (['label', 'package'] as const).flatMap((what) => {
    const said: NamedParts[] = [];
    for (let at = 1; ; at += 1) {
      const [text, parts] = [answerTo(answers, `${what}.${at}`), answerTo(answers, `${what}.${at}.parts`)];
      if (text === undefined || parts === undefined) break;
      said.push({ text: what === 'label' ? normaliseLabel(text) : text.trim(), parts: readParts(parts) });
    }
    const { pattern } = said.length === 0 ? { pattern: undefined } : proposePattern(said);
    return said.map(({ text }) => ({
      text,
      parts: pattern === undefined ? undefined : readWithGrammar(text, { pattern, absent: {} }).parts,
    }));
  });
}

const nameQuestion: Question = {
  id: 'name',
  kind: 'line',
  text: 'Short name of the family (small letters, digits, dashes)',
  check: (text) =>
    /^[a-z0-9][a-z0-9-]*$/.test(text.trim()) ? undefined : 'Small letters, digits and dashes, such as sedge.',
};

const titleQuestion = (answers: Answers): Question => ({
  id: 'title',
  kind: 'line',
  text: 'In words',
  otherwise: `${answerTo(answers, 'name') ?? ''} panels`,
});

const fewest = { label: 2, package: 1 };

const intro = {
  label: 'Two or three labels, as they are printed; as different as you have them.',
  package: 'One to three package names, as the maker names the downloads.',
};

function textQuestion(what: 'label' | 'package', count: number): Question {
  const name = what === 'label' ? 'Label' : 'Package name';
  const enough = count >= fewest[what];
  return {
    id: `${what}.${count + 1}`,
    kind: 'line',
    text: `${name} ${count + 1}${enough ? ' (Enter: no more)' : ''}`,
    ...(count === 0 ? { before: intro[what] } : {}),
    ...(enough ? { mayBeEmpty: true as const } : {}),
  };
}

interface Known {
  readonly labels: readonly NamedParts[];
  readonly packages: readonly NamedParts[];
}

/** All parts of one example in a line: proposed from those before it, and refused where it does not follow them. */
function partsQuestion(what: 'label' | 'package', text: string, known: Known): Question {
  const before = what === 'label' ? known.labels : known.packages;
  return {
    id: `${what}.${before.length + 1}.parts`,
    kind: 'line',
    text: what === 'label' ? '  its parts' : '  its parts, and its build',
    ...(before.length > 0
      ? {}
      : { before: 'Write each part as name=value, as in size=75, series=QB. Leave out what is not there.' }),
    otherwise: writeParts(guessParts(what, text, known)),
    ...(what === 'package' ? { mayBeEmpty: true as const } : {}),
    check: (line) => wrongIn(line, what, text, before),
  };
}

const writeParts = (parts: Parts): string =>
  Object.entries(parts)
    .map(([part, value]) => `${part}=${value}`)
    .join(', ');

const pairsOf = (line: string): readonly (readonly [string, string] | string)[] =>
  line
    .split(/[,;]/)
    .filter((one) => one.trim() !== '')
    .map((pair) => {
      const [, part, value] = /^\s*([A-Za-z]\w*)\s*[=:]\s*(.*?)\s*$/.exec(pair) ?? [];
      return part === undefined || value === undefined ? pair.trim() : ([part, value] as const);
    });

const readParts = (line: string): Parts =>
  Object.fromEntries(
    pairsOf(line).filter((pair): pair is readonly [string, string] => typeof pair !== 'string' && pair[1] !== ''),
  );

function wrongIn(line: string, what: 'label' | 'package', text: string, before: readonly NamedParts[]) {
  const unread = pairsOf(line).find((pair) => typeof pair === 'string');
  if (unread !== undefined) return `"${visible(String(unread))}" is not written like size=75.`;
  const parts = readParts(line);
  const reserved = (what === 'label' ? ['text', 'build'] : ['text']).find((name) => Object.hasOwn(parts, name));
  if (reserved !== undefined) return `No part can be called ${reserved}.`;
  if (parts.build !== undefined && !isBuild(parts.build))
    return `"${visible(parts.build)}" reads as no date, version or number that could be compared with another build.`;
  if (what === 'package' && Object.keys(parts).length === 0) return undefined;
  const example = { text: what === 'label' ? normaliseLabel(text) : text, parts };
  const { because } = { because: undefined, ...proposePattern([...before, example]) };
  return because === undefined ? undefined : `${because.charAt(0).toUpperCase()}${because.slice(1)}.`;
}

/** As the examples before it would have it read, else by what it has in common with the labels. */
function guessParts(what: 'label' | 'package', text: string, { labels, packages }: Known): Parts {
  const before = what === 'label' ? labels : packages;
  const { pattern } = before.length === 0 ? { pattern: undefined } : proposePattern(before);
  const read = pattern === undefined ? undefined : readWithGrammar(text, { pattern, absent: {} }).parts;
  if (read !== undefined) return inCaseOf(text, read);
  if (what === 'label') return guessTableParts(text, '').label;
  for (const label of labels) {
    const { build } = guessTableParts(label.text, text);
    const stem = upperForComparing(text);
    const shared = Object.entries(label.parts).filter(([, value]) => stem.includes(upperForComparing(value)));
    if (shared.length > 0) return { ...Object.fromEntries(shared), ...(build === undefined ? {} : { build }) };
  }
  const { build } = guessTableParts('', text);
  return build === undefined ? {} : { build };
}

/** Parts come out of a pattern in upper case; a person sees them as they stand. */
const inCaseOf = (text: string, parts: Parts): Parts =>
  Object.fromEntries(
    Object.entries(parts).map(([part, value]) => {
      const at = text.toUpperCase().indexOf(value);
      return [part, at < 0 ? value : text.slice(at, at + value.length)];
    }),
  );

function examplesOf(answers: Answers, { labels, packages }: Known, who: string): FleetExamples {
  const family = answerTo(answers, 'name')?.trim() ?? '';
  const absent = Object.entries(answers).flatMap(([id, value]) =>
    id.startsWith('absent.') ? [[id.slice('absent.'.length), value.trim() || 'none'] as const] : [],
  );
  const shares = packages.some(({ parts }) =>
    Object.keys(parts).some((part) => labels.some((label) => Object.hasOwn(label.parts, part))),
  );
  const word = answerTo(answers, 'where')?.trim() ?? '';
  const shared = new Set(packages.flatMap(({ parts }) => Object.keys(parts)).filter((part) => part !== 'build'));
  return {
    family,
    title: answerTo(answers, 'title')?.trim() || `${family} panels`,
    labels,
    packages,
    absent: Object.fromEntries(absent),
    nameSaysNothing: shares ? undefined : true,
    madeFrom: {
      by: who,
      whereRead: Object.fromEntries([...(shares ? shared : ['package'])].map((part) => [part, word])),
    },
  };
}

/** Absence is information: a first generation often carries no mark, a standard unit no factory code. */
const absentQuestions = (examples: FleetExamples): readonly Question[] =>
  (proposeFamily({ ...examples, absent: {} }).proposal?.unexplained ?? []).map((part) => ({
    id: `absent.${part}`,
    kind: 'line',
    text: `What does it mean where ${part} is not there? (such as "standard" or "1")`,
    otherwise: 'none',
  }));

const whereQuestion: Question = {
  id: 'where',
  kind: 'line',
  before:
    'Nothing here proves which package is for which label; whoever verifies a stick is told on whose word it rests.',
  text: 'Where did you read it (release note, download page, letter)?',
};
