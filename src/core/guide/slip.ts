import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { checkLabel } from '../checks/fit/check-label.ts';
import type { Finding } from '../findings/finding.ts';
import { compareEntries } from '../label/compare-fit.ts';
import { readLabel } from '../label/read-label.ts';
import { readWithGrammar } from '../label/read-with-grammar.ts';
import type { Family } from '../model/family.ts';
import type { Mode } from '../model/mode.ts';
import type { LabelReading } from '../model/panel-identity.ts';
import type { GuideFacts } from './guide-course.ts';
import { type FoundPackage, type JudgedPackage, judgePackages } from './package-question.ts';
import { type Answers, answerTo, objectionTo, type Question } from './question.ts';
import { nextWayQuestion } from './way-questions.ts';
import { type Way, wayOf } from './which-way.ts';

/** A stretch of the label: a part with its name, or what stands between two. */
export interface LabelStretch {
  readonly text: string;
  readonly part: string | undefined;
}

/** What `prepare` is to do; the sticks are said beside it. */
export interface SlipOrder {
  readonly archivePath: string;
  readonly mode: Mode;
  readonly label: string;
  readonly running: string | undefined;
}

/** The slip of one job as it stands: all parts are there from the start, and fill in from the top. */
export interface Slip {
  readonly label: {
    readonly reading: LabelReading;
    /** The one family that reads it. */
    readonly family: Family | undefined;
    readonly stretches: readonly LabelStretch[];
    readonly findings: readonly Finding[];
    /** The second entry beside the first; undefined where it was not typed yet. */
    readonly second: ReturnType<typeof compareEntries> | undefined;
    readonly isSure: boolean;
  };
  /** How it gets there: what was answered, what is open, and what follows. */
  readonly way: {
    readonly asked: readonly Question[];
    readonly open: Question | undefined;
    readonly decided: Way | undefined;
  };
  readonly packages: readonly JudgedPackage[];
  readonly chosen: FoundPackage | undefined;
  /** Whether the build that runs there can be read off the panel. */
  readonly mayKnowRunning: boolean;
  /** All that is needed but the sticks. */
  readonly order: SlipOrder | undefined;
}

/**
 * One stick's slip from what was written on it. The same rules as the guide's, but any part can be filled in at any
 * time, as on paper.
 */
export function slipOf(facts: GuideFacts, answers: Answers): Slip {
  const text = answerTo(answers, 'label') ?? '';
  const again = answerTo(answers, 'label.again');
  const reading = readLabel(text, facts.families);
  const [only, ...others] = reading.readings;
  const family = others.length === 0 ? only?.family : undefined;
  const second = again === undefined || again === '' ? undefined : compareEntries(text, again);
  const packages = text === '' ? [] : judgePackages(reading, facts.packages ?? [], facts.families);
  const judged = packages.find(({ found }) => found.path === answerTo(answers, 'package'));
  const running = answerTo(answers, 'running')?.trim() || undefined;
  const isDowngrade = isOlder(judged, running, family);
  const way = wayPart(answers, family, isDowngrade);
  const decided =
    way.open === undefined ? wayOf(answers, { family, target: targetOf(packages), isDowngrade }) : undefined;
  const isSure = family !== undefined && second?.answer === 'agree';
  const chosen = judged?.found;
  return {
    label: {
      reading,
      family,
      stretches: stretchesOf(reading, family),
      findings: text.trim() === '' ? [] : checkLabel(reading, facts.families),
      second,
      isSure,
    },
    way: { ...way, decided },
    packages,
    chosen,
    mayKnowRunning: answerTo(answers, 'way.starts') === 'yes',
    order:
      isSure && chosen !== undefined && decided?.way === 'stick'
        ? { archivePath: chosen.path, mode: decided.mode, label: reading.normalised, running }
        : undefined,
  };
}

const targetOf = (packages: readonly JudgedPackage[]): string | undefined =>
  packages.find(({ fit }) => fit.answer === 'fits')?.build?.text;

function isOlder(judged: JudgedPackage | undefined, runs: string | undefined, family: Family | undefined): boolean {
  if (runs === undefined || family === undefined || judged?.build === undefined) return false;
  const now = readBuild(runs, family.build).build;
  return now !== undefined && compareBuilds(judged.build, now) === 'older';
}

function wayPart(answers: Answers, family: Family | undefined, isDowngrade: boolean) {
  const asked: Question[] = [];
  let given: Answers = {};
  for (;;) {
    const question = nextWayQuestion(given, family, isDowngrade);
    if (question === undefined) return { asked, open: undefined };
    const answer = answerTo(answers, question.id);
    if (answer === undefined || objectionTo(question, answer) !== undefined) return { asked, open: question };
    asked.push(question);
    given = { ...given, [question.id]: answer };
  }
}

/** The label in the order of its letters, each part with its name. */
function stretchesOf({ normalised }: LabelReading, family: Family | undefined): readonly LabelStretch[] {
  const read = family === undefined ? undefined : readWithGrammar(normalised, family.label);
  if (read?.parts === undefined) return normalised === '' ? [] : [{ text: normalised, part: undefined }];
  const spans = Object.entries(read.spans).toSorted(([, [a]], [, [b]]) => a - b);
  const stretches: LabelStretch[] = [];
  let at = 0;
  for (const [part, [start, end]] of spans) {
    if (start < at || start === end) continue;
    if (start > at) stretches.push({ text: normalised.slice(at, start), part: undefined });
    stretches.push({ text: normalised.slice(start, end), part });
    at = end;
  }
  if (at < normalised.length) stretches.push({ text: normalised.slice(at), part: undefined });
  return stretches;
}
