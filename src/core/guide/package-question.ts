import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { compareFit, compareTokens } from '../label/compare-fit.ts';
import { type CopyName, nameBeforeCopy } from '../label/name-before-copy.ts';
import { readPackageName } from '../label/read-label.ts';
import type { Build } from '../model/build.ts';
import type { Family } from '../model/family.ts';
import type { Fit, LabelReading } from '../model/panel-identity.ts';
import { visible } from '../text/visible.ts';
import { compareText, countInWords } from '../text/words.ts';
import { type Answers, answerTo, type Choice, type Question } from './question.ts';

/** A file that could be a package, as it was found. */
export interface FoundPackage {
  readonly path: string;
  readonly name: string;
  /** In words: on the shelf, in the download folder, here. */
  readonly place: string;
}

export interface JudgedPackage {
  readonly found: FoundPackage;
  readonly fit: Fit;
  readonly build: Build | undefined;
  /** What a second download or a copy added to its name, and the maker's name: judged is that. */
  readonly copy?: CopyName | undefined;
}

/** Most that are offered: more than a screen holds is no help. */
const mostOffered = 8;

const order = { fits: 0, 'cannot-tell': 1, differs: 2 };

/** What was found, the likeliest first: what fits the label, the newest build of it, then what cannot be told. */
export function judgePackages(
  label: LabelReading,
  packages: readonly FoundPackage[],
  families: readonly Family[],
): readonly JudgedPackage[] {
  const [panel] = label.readings;
  const judged = packages.map((found): JudgedPackage => {
    if (panel === undefined) return { found, fit: compareTokens(label.text, found.name), build: undefined };
    const [asFound] = readPackageName(found.name, families).readings;
    const copy = asFound === undefined ? nameBeforeCopy(found.name) : undefined;
    const [made] = copy === undefined ? [asFound] : readPackageName(copy.original, families).readings;
    if (made?.family.family !== panel.family.family)
      return { found, fit: { answer: 'differs', parts: [] }, build: undefined };
    const build = made.build === undefined ? undefined : readBuild(made.build, panel.family.build).build;
    const fit = compareFit(panel.parts, made.parts, made.agree);
    // Under the name that it has now, it is no package of this family.
    const answer = copy !== undefined && fit.answer === 'fits' ? 'cannot-tell' : fit.answer;
    return { found, fit: { ...fit, answer }, build, copy };
  });
  return judged.toSorted(
    (a, b) =>
      order[a.fit.answer] - order[b.fit.answer] ||
      differing(a) - differing(b) ||
      newerFirst(a, b) ||
      compareText(a.found.path, b.found.path),
  );
}

/** The fewer parts differ, the nearer; none at all is known of packages for other kinds of panel. */
const differing = ({ fit: { answer, parts } }: JudgedPackage): number =>
  answer !== 'differs'
    ? 0
    : parts.length === 0
      ? Number.MAX_SAFE_INTEGER
      : parts.filter(({ relation }) => relation !== 'equal').length;

function newerFirst(a: JudgedPackage, b: JudgedPackage): number {
  if (a.build === undefined || b.build === undefined) return 0;
  const relation = compareBuilds(a.build, b.build);
  return relation === 'newer' ? -1 : relation === 'older' ? 1 : 0;
}

/** The newest build that is at hand for a label. */
export function expectedBuild(label: LabelReading, packages: readonly FoundPackage[], families: readonly Family[]) {
  if (label.readings.length !== 1) return undefined;
  return judgePackages(label, packages, families).find(({ fit }) => fit.answer === 'fits')?.build?.text;
}

/** Which package: one of those that were found, with why it fits, or the path of another. */
export function packageQuestion(
  label: LabelReading,
  packages: readonly FoundPackage[],
  families: readonly Family[],
): (answers: Answers) => readonly Question[] {
  const judged = judgePackages(label, packages, families);
  // Where a family reads the label, its other packages are for other panels.
  const offered = judged
    .filter(({ fit }) => label.readings.length === 0 || fit.answer !== 'differs')
    .slice(0, mostOffered);
  const left = judged.length - offered.length;
  const which: Question = {
    id: 'package',
    kind: 'choice',
    before: `${countInWords(judged.length, 'package')} found on the shelf, in the download folder and here${left > 0 ? `; ${left} not shown, because ${whyNotShown(label)}` : ''}.`,
    text: 'Which package?',
    choices: [...offered.map(toChoice), { value: 'other', name: 'another file: I type its path' }],
  };
  return (answers) => {
    if (offered.length === 0) return [pathQuestion(judged.length)];
    return answerTo(answers, which.id) === 'other' ? [which, pathQuestion(0)] : [which];
  };
}

const whyNotShown = ({ readings }: LabelReading): string =>
  readings.length === 0 ? 'they look less like the label' : 'they are for other panels';

const pathQuestion = (others: number): Question => ({
  id: 'package.path',
  kind: 'file',
  ...(others === 0
    ? {}
    : { before: `None of the ${countInWords(others, 'package')} on the shelf, in the download folder and here fits.` }),
  text: 'Path of the package, as it was downloaded',
});

function toChoice({ found, fit }: JudgedPackage): Choice {
  const equal = fit.parts
    .filter(({ relation }) => relation === 'equal')
    .map(({ part, label = '' }) => said(part, label));
  const other = fit.parts.filter(({ relation }) => relation !== 'equal').map(({ label = '' }) => label);
  const why =
    fit.answer === 'fits'
      ? `has ${equal.join(', ')}`
      : fit.answer === 'differs'
        ? 'differs from the label'
        : equal.length === 0
          ? 'the name does not say'
          : `has ${equal.join(', ')}${other.length === 0 ? '' : `, not ${other.join(', ')}`}`;
  return { value: found.path, name: `${visible(found.name)} (${found.place}): ${visible(why)}` };
}

const said = (part: string, value: string): string => (part === value ? value : `${part} ${value}`);
