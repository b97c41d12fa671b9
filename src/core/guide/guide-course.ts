import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { checkLabel } from '../checks/fit/check-label.ts';
import type { Finding } from '../findings/finding.ts';
import type { FleetExamples } from '../label/propose-family.ts';
import { readLabel, readPackageName } from '../label/read-label.ts';
import type { Family } from '../model/family.ts';
import type { LeftoverPolicy, Mode } from '../model/mode.ts';
import type { HashAlgorithm } from '../text/checksum-list.ts';
import { type PublishedSaid, readByteCount, readHashesSaid } from '../text/published.ts';
import { visible } from '../text/visible.ts';
import { quoteWord } from '../text/words.ts';
import { back, labelOf, nextLabelQuestion } from './label-questions.ts';
import { expectedBuild, type FoundPackage, packageQuestion } from './package-question.ts';
import { type Answers, answerTo, firstOpen, type Question } from './question.ts';
import { askTable, tableOf, wordQuestion } from './table-questions.ts';
import { nextWayQuestion } from './way-questions.ts';
import { type Way, wayOf } from './which-way.ts';

/** What is known beside the answers. */
export interface GuideFacts {
  readonly families: readonly Family[];
  /** Undefined until somebody has looked. */
  readonly packages: readonly FoundPackage[] | undefined;
  /** Who sits at the desk. */
  readonly who: string;
}

/** What `prepare` is to do, all of it from the answers. */
export interface GuidedJob {
  readonly archivePath: string;
  readonly mode: Mode;
  readonly label: string;
  readonly running: string | undefined;
  readonly stick: string;
  readonly way: Way;
  /** The one stop that the person's own word lifts: they said where they read for which panel the package is. */
  readonly because: string | undefined;
}

export type GuideStep =
  | { readonly step: 'ask'; readonly question: Question }
  /** Somebody has to look what packages there are. */
  | { readonly step: 'look' }
  /** A family for this panel is to be written; after it the families are others. */
  | { readonly step: 'make-family'; readonly examples: FleetExamples }
  | { readonly step: 'prepare'; readonly job: GuidedJob }
  /** No stick: over the air, or somebody must be asked first. */
  | { readonly step: 'end'; readonly way: Way }
  | { readonly step: 'refuse'; readonly findings: readonly Finding[] };

/**
 * One stick from the label to the tag: what comes next, from the facts and what was answered so far. The same answers
 * lead to the same place, so a draft of them goes on where it was.
 */
export function nextOfGuide(facts: GuideFacts, answers: Answers): GuideStep {
  const way = nextWayQuestion(answers, undefined);
  if (way !== undefined) return ask(way);
  const first = wayOf(answers, { family: undefined, target: undefined });
  if (first.way === 'over-the-air') return overTheAir(facts, answers);
  if (first.way === 'stop-and-ask') return { step: 'end', way: first };
  const open = nextLabelQuestion(facts.families, answers);
  if (open !== undefined) return ask(open);
  const reading = readLabel(labelOf(answers), facts.families);
  if (reading.readings.length > 1) return { step: 'refuse', findings: checkLabel(reading, facts.families) };
  if (facts.packages === undefined) return { step: 'look' };
  const packages = packageQuestion(reading, facts.packages, facts.families);
  const chosen = firstOpen(packages(answers), answers);
  if (chosen !== undefined) return ask(chosen);
  return withPackage(facts, answers, reading.readings[0]?.family);
}

const ask = (question: Question): GuideStep => ({ step: 'ask', question });

function withPackage(facts: GuideFacts, answers: Answers, family: Family | undefined): GuideStep {
  const archivePath = packageOf(answers);
  const fileName = fileNameOf(archivePath);
  const label = labelOf(answers);
  if (family === undefined) {
    const [other] = readPackageName(fileName, facts.families).readings;
    if (other !== undefined) return ask(ofAnotherFamily(label, fileName, other.family));
    const open = askTable(label, fileName, answers);
    if (open !== undefined) return ask(open);
    const taken = facts.families.map((one) => one.family);
    return { step: 'make-family', examples: tableOf({ label, fileName, answers, by: facts.who, taken }) };
  }
  const way = nextWayQuestion(answers, family);
  if (way !== undefined) return ask(way);
  const [made] = readPackageName(fileName, [family]).readings;
  const about = answerTo(answers, 'way.starts') === 'yes' ? [running] : [];
  const openAbout = firstOpen(about, answers);
  if (openAbout !== undefined) return ask(openAbout);
  const isDowngrade = isOlder(made?.build, answerTo(answers, running.id) ?? '', family);
  const wayBack = nextWayQuestion(answers, family, isDowngrade);
  if (wayBack !== undefined) return ask(wayBack);
  const decided = wayOf(answers, { family, target: undefined, isDowngrade });
  if (decided.way !== 'stick') return { step: 'end', way: decided };
  const wipes = family.modes[decided.mode]?.['keeps-data'] !== true;
  const word = wipes && made?.agree.length === 0 ? [wordQuestion(fileName)] : [];
  const last = firstOpen([...word, stick(decided.reason)], answers);
  if (last !== undefined) return ask(last);
  return {
    step: 'prepare',
    job: {
      archivePath,
      mode: decided.mode,
      label,
      running: answerTo(answers, running.id)?.trim() || undefined,
      stick: answerTo(answers, 'stick') ?? '',
      way: decided,
      because: word.length > 0 ? answerTo(answers, 'table.where') : undefined,
    },
  };
}

/** Whether the package is known to bring an older build than runs there; where nobody can order them it is not. */
function isOlder(packaged: string | undefined, runs: string, family: Family): boolean {
  const now = readBuild(runs, family.build).build;
  const then = packaged === undefined ? undefined : readBuild(packaged, family.build).build;
  return now !== undefined && then !== undefined && compareBuilds(then, now) === 'older';
}

function ofAnotherFamily(label: string, fileName: string, { title, label: { examples } }: Family): Question {
  return {
    id: 'package.other',
    kind: 'choice',
    before: `${visible(fileName)} is a package of ${title}, whose labels look like "${examples[0]?.text ?? ''}". "${visible(label)}" is none of them.`,
    text: 'One of the two is not right. What do you want to give anew?',
    choices: [back('package', 'the package'), back('label', 'the label')],
  };
}

const running: Question = {
  id: 'running',
  kind: 'line',
  text: 'The build on the About page of the panel (Enter: not known)',
  mayBeEmpty: true,
};

const stick = (reason: string): Question => ({ id: 'stick', kind: 'stick', before: reason, text: 'The stick' });

export const packageOf = (answers: Answers): string => {
  const chosen = answerTo(answers, 'package') ?? '';
  return chosen === '' || chosen === 'other' ? (answerTo(answers, 'package.path') ?? '') : chosen;
};

export const fileNameOf = (path: string): string => path.split(/[\\/]/).at(-1) ?? path;

/** The mildest way needs no stick; which build to expect can be said where the label is known. */
function overTheAir(facts: GuideFacts, answers: Answers): GuideStep {
  const question: Question = {
    id: 'air.label',
    kind: 'line',
    text: 'Its label, to say which build to expect (Enter: leave it)',
    mayBeEmpty: true,
  };
  const open = firstOpen([question], answers);
  if (open !== undefined) return ask(open);
  const label = answerTo(answers, question.id)?.trim() ?? '';
  if (label !== '' && facts.packages === undefined) return { step: 'look' };
  const reading = readLabel(label, facts.families);
  const target = expectedBuild(reading, facts.packages ?? [], facts.families);
  return { step: 'end', way: wayOf(answers, { family: reading.readings[0]?.family, target }) };
}

/** All that one command says of a preparation. */
export interface SaidInOne extends Pick<GuidedJob, 'archivePath' | 'mode' | 'label' | 'running'> {
  readonly sticks: readonly string[];
  readonly leftovers: LeftoverPolicy;
  /** Codes of stops, each with the reason why it was accepted. */
  readonly accepted: Readonly<Record<string, string>>;
  readonly published?: PublishedSaid;
  /** Files of certificates. */
  readonly signers?: readonly { readonly name: string }[];
  /** The desk's shelf, whose record speaks of a package that lies there. */
  readonly shelf?: string | undefined;
}

const optionOf: Readonly<Partial<Record<HashAlgorithm, string>>> = {
  'SHA-256': '--expect-sha256',
  'SHA-512': '--expect-sha512',
  'SHA-1': '--expect-sha1',
  MD5: '--expect-md5',
};

function publishedWords(said: PublishedSaid, fileName: string): readonly string[] {
  const read = readHashesSaid(said, fileName);
  const hashes = read.state === 'read' ? read.hashes : [];
  const bytes = readByteCount(said.bytes ?? '');
  return [
    ...hashes.flatMap(({ algorithm, hex }) => {
      const option = optionOf[algorithm];
      return option === undefined ? [] : [option, hex];
    }),
    ...(bytes === undefined ? [] : ['--expect-bytes', String(bytes)]),
  ];
}

/** Both absolute, as the system that the desk runs on writes them. */
const isBelow = (path: string, folder: string): boolean =>
  path.startsWith(folder) && /^[\\/]/.test(path.slice(folder.length));

/** The one command that does the same as the answers. */
export const prepareLine = ({ archivePath, mode, label, running, sticks, leftovers, accepted, ...said }: SaidInOne) =>
  [
    ...['stickwright', 'prepare', archivePath, '--mode', mode, '--label', label],
    ...(said.shelf !== undefined && isBelow(archivePath, said.shelf) ? ['--shelf', said.shelf] : []),
    ...(running === undefined ? [] : ['--running', running]),
    ...(leftovers === 'stop' ? [] : ['--leftovers', leftovers]),
    ...Object.entries(accepted).flatMap(([code, reason]) => ['--accept', code, '--because', reason]),
    ...publishedWords(said.published ?? {}, fileNameOf(archivePath)),
    ...(said.signers ?? []).flatMap(({ name }) => ['--signer', name]),
    ...sticks.flatMap((target) => ['--stick', target]),
  ]
    .map(quoteWord)
    .join(' ');
