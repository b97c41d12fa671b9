import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { type FindingCode, isFindingCode } from '../findings/catalogue.ts';
import { isAcceptable, isReason } from '../findings/finding.ts';
import type { FleetExamples } from '../label/propose-family.ts';
import { readPackageName } from '../label/read-label.ts';
import type { Family } from '../model/family.ts';
import { type LeftoverPolicy, leftoverPolicies, type Mode } from '../model/mode.ts';
import { type PublishedSaid, readByteCount, readHashesSaid } from '../text/published.ts';
import type { GuideFacts } from './guide-course.ts';
import { type JudgedPackage, judgePackages } from './package-question.ts';
import { type Answers, answerTo, objectionTo, type Question } from './question.ts';
import { labelPart, type SlipLabel } from './slip-label.ts';
import { askTable, tableOf } from './table-questions.ts';
import { nextWayQuestion } from './way-questions.ts';
import { type Way, wayOf } from './which-way.ts';

/** What `prepare` is to do; the sticks are said beside it. */
export interface SlipOrder {
  readonly archivePath: string;
  readonly mode: Mode;
  readonly label: string;
  readonly running: string | undefined;
  readonly leftovers: LeftoverPolicy;
  /** Codes of stops, each with the reason why it was accepted. */
  readonly accepted: Readonly<Record<string, string>>;
  /** What its maker publishes of the package. */
  readonly published: PublishedSaid;
  /** Certificates that are trusted to sign it. */
  readonly signers: readonly SignerSaid[];
}

/** A certificate as somebody gave it. */
export interface SignerSaid {
  /** Of its file. */
  readonly name: string;
  /** DER, in base64. */
  readonly der: string;
  /** In words. */
  readonly subject: string;
  /** Fingerprint of the DER, lower hex. */
  readonly sha256: string;
}

/** Questions one after the other: those that were answered, and the one that is open. */
export interface Course {
  readonly asked: readonly Question[];
  readonly open: Question | undefined;
}

/** The slip of one job as it stands: all parts are there from the start, and fill in from the top. */
export interface Slip {
  readonly label: SlipLabel;
  /** How it gets there: what was answered, what is open, and what follows. */
  readonly way: Course & { readonly decided: Way | undefined };
  readonly packages: readonly JudgedPackage[];
  readonly chosen: JudgedPackage | undefined;
  /** Making a family of label and package, where none reads the label; undefined where none is to be made. */
  readonly table: (Course & { readonly examples: FleetExamples | undefined }) | undefined;
  /** The family that reads the package's name, where none reads the label: one of the two is not right. */
  readonly packageOf: Family | undefined;
  /** Whether the build that runs there can be read off the panel. */
  readonly mayKnowRunning: boolean;
  /** What is pasted as published cannot be what a maker publishes of this package. */
  readonly isPublishedWrong: boolean;
  /** All that is needed but the sticks. */
  readonly order: SlipOrder | undefined;
}

/**
 * One stick's slip from what was written on it. The same rules as the guide's, but any part can be filled in at any
 * time, as on paper.
 */
export function slipOf(facts: GuideFacts, answers: Answers): Slip {
  const label = labelPart(facts.families, answers);
  const { reading, family } = label;
  const packages = label.text === '' ? [] : judgePackages(reading, facts.packages ?? [], facts.families);
  const chosen = packages.find(({ found }) => found.path === answerTo(answers, 'package'));
  const running = answerTo(answers, 'running')?.trim() || undefined;
  const isDowngrade = isOlder(chosen, running, family);
  const way = courseOf((given) => nextWayQuestion(given, family, isDowngrade), answers);
  const decided =
    way.open === undefined ? wayOf(answers, { family, target: targetOf(packages), isDowngrade }) : undefined;
  const isNew = label.isNew && label.isCompared && chosen !== undefined;
  const packageOf = isNew ? readPackageName(chosen.found.name, facts.families).readings[0]?.family : undefined;
  const published = publishedIn(answers);
  const isPublishedWrong =
    chosen !== undefined &&
    (readHashesSaid(published, chosen.found.name).state === 'wrong' ||
      ((published.bytes ?? '').trim() !== '' && readByteCount(published.bytes ?? '') === undefined));
  return {
    label,
    isPublishedWrong,
    way: { ...way, decided },
    packages,
    chosen,
    table: isNew && packageOf === undefined ? tablePart(label.text, chosen.found.name, facts, answers) : undefined,
    packageOf,
    mayKnowRunning: answerTo(answers, 'way.starts') === 'yes',
    order:
      label.isSure && chosen !== undefined && decided?.way === 'stick' && !isPublishedWrong
        ? {
            archivePath: chosen.found.path,
            mode: decided.mode,
            label: reading.normalised,
            running,
            leftovers: leftoverPolicies.find((policy) => policy === answerTo(answers, 'leftovers')) ?? 'stop',
            accepted: acceptedIn(answers),
            published,
            signers: signersIn(answers),
          }
        : undefined,
  };
}

/** Under these it is kept what the maker publishes of the package, and whose signature is trusted. */
export const publishedUnder = { hash: 'published.hash', hashFrom: 'published.from', bytes: 'published.bytes' } as const;
export const signersUnder = 'signers';

export const publishedIn = (answers: Answers): PublishedSaid => ({
  hash: answerTo(answers, publishedUnder.hash),
  hashFrom: answerTo(answers, publishedUnder.hashFrom),
  bytes: answerTo(answers, publishedUnder.bytes),
});

export const signersIn = (answers: Answers): readonly SignerSaid[] => {
  try {
    return JSON.parse(answerTo(answers, signersUnder) ?? '[]') as readonly SignerSaid[];
  } catch {
    return [];
  }
};

/** Under this a reason is kept, with the code of the stop behind it. */
export const acceptedUnder = 'accepted.';

const acceptedIn = (answers: Answers): Readonly<Record<string, string>> =>
  Object.fromEntries(
    Object.entries(answers).flatMap(([id, reason]) => {
      const code = id.startsWith(acceptedUnder) ? id.slice(acceptedUnder.length) : '';
      return isFindingCode(code) && isAcceptable(code) && isReason(reason) ? [[code, reason.trim()]] : [];
    }),
  );

function tablePart(label: string, fileName: string, { families, who }: GuideFacts, answers: Answers) {
  const course = courseOf((given) => askTable(label, fileName, given), answers);
  const taken = families.map((one) => one.family);
  const examples = course.open === undefined ? tableOf({ label, fileName, answers, by: who, taken }) : undefined;
  return { ...course, examples };
}

const targetOf = (packages: readonly JudgedPackage[]): string | undefined =>
  packages.find(({ fit }) => fit.answer === 'fits')?.build?.text;

function isOlder(judged: JudgedPackage | undefined, runs: string | undefined, family: Family | undefined): boolean {
  if (runs === undefined || family === undefined || judged?.build === undefined) return false;
  const now = readBuild(runs, family.build).build;
  return now !== undefined && compareBuilds(judged.build, now) === 'older';
}

/** NEXT is asked with what was answered so far, as if one question came after the other. */
function courseOf(next: (given: Answers) => Question | undefined, answers: Answers): Course {
  const asked: Question[] = [];
  let given: Answers = {};
  for (;;) {
    const question = next(given);
    if (question === undefined) return { asked, open: undefined };
    const answer = answerTo(answers, question.id);
    if (answer === undefined || objectionTo(question, answer) !== undefined) return { asked, open: question };
    asked.push(question);
    given = { ...given, [question.id]: answer };
  }
}

/** What an answer carries with it, by the beginning of its id: another label makes another job. */
const dependents: readonly (readonly [RegExp, RegExp])[] = [
  [/^label$/, /^label\./],
  [/^label(\.line)?$|^package$/, /^table\./],
  [/^package$/, /^published\./],
  [/^label|^package$|^way\.|^sticks$/, /^accepted\./],
];

/** The slip with MORE written on it; undefined takes an answer away, and what hung on a changed one goes with it. */
export function writtenOn(answers: Answers, more: Readonly<Record<string, string | undefined>>): Answers {
  const changed = Object.keys(more).filter((id) => answerTo(answers, id) !== more[id]);
  const gone = dependents.flatMap(([cause, hangs]) => (changed.some((id) => cause.test(id)) ? [hangs] : []));
  const left = Object.entries(answers).filter(([id]) => !gone.some((hangs) => hangs.test(id)));
  return Object.fromEntries(
    Object.entries({ ...Object.fromEntries(left), ...more }).filter(
      (entry): entry is [string, string] => entry[1] !== undefined,
    ),
  );
}

/** Stops about what lies on a stick already, which setting it aside or removing it may lift. */
const leftoverCodes: readonly FindingCode[] = [
  'stick/other-firmware',
  'stick/firmware-inside',
  'stick/earlier-preparation',
  'stick/extra-in-firmware-folder',
  'stick/hidden-twins',
  'stick/name-taken',
  'stick/root-not-empty',
  'plan/aside-not-possible',
];

/** What shall become of what lies there, in the words of a choice. */
export const leftoverChoices: Readonly<Record<LeftoverPolicy, string>> = {
  stop: 'Stop: I look at them first',
  'set-aside': 'Move them into a dated folder on the stick',
  remove: 'Remove them from the stick',
};

export const asksForLeftovers = (code: FindingCode): boolean => leftoverCodes.includes(code);
