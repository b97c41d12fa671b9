import { type Finding, finding } from '../../findings/finding.ts';
import { readLabel, readPackageName } from '../../label/read-label.ts';
import { readWithGrammar } from '../../label/read-with-grammar.ts';
import type { Family, FamilyProblem } from '../../model/family.ts';
import { normaliseLabel, upperForComparing } from '../../text/label-text.ts';
import { findFamilyProblems } from './find-family-problems.ts';

/**
 * What sound families of one folder do to each other and to their own labels: labels that two read, package names that
 * two claim, package patterns that an earlier one hides, label patterns so loose that a slip changes nothing. Tried on
 * the examples, so silence is no proof.
 */
export function checkFamilies(families: readonly Family[]): readonly Finding[] {
  return families.flatMap((family) => [
    ...labelsOfTwo(family, families),
    ...packagesOfTwo(family, families),
    ...hiddenPackages(family),
    ...looseLabels(family),
  ]);
}

const titlesOf = (readings: readonly { readonly family: Family }[]): readonly string[] =>
  readings.map(({ family }) => family.family);

function labelsOfTwo(family: Family, families: readonly Family[]): readonly Finding[] {
  return family.label.examples.flatMap(({ text }) => {
    const { readings } = readLabel(text, families);
    return readings.length < 2 ? [] : [finding('family/two-read-label', text, { families: titlesOf(readings) })];
  });
}

function packagesOfTwo(family: Family, families: readonly Family[]): readonly Finding[] {
  return family.packages.flatMap(({ examples }) =>
    examples.flatMap(({ text }) => {
      const { readings } = readPackageName(text, families);
      return readings.length < 2 ? [] : [finding('family/two-claim-package', text, { families: titlesOf(readings) })];
    }),
  );
}

/** The first package pattern that reads a name counts, so a later one may never get its turn. */
function hiddenPackages(family: Family): readonly Finding[] {
  return family.packages.flatMap(({ examples }, index) =>
    examples.flatMap(({ text }) => {
      const first = family.packages.findIndex((grammar) => readWithGrammar(text, grammar).parts !== undefined);
      if (first < 0 || first >= index) return [];
      return [finding('family/pattern-hidden', text, { family: family.family, first: first + 1, second: index + 1 })];
    }),
  );
}

/** One character more, less or other in an example, and yet the same parts come out: a slip would pass unseen. */
function looseLabels(family: Family): readonly Finding[] {
  return family.label.examples.flatMap(({ text }) => {
    const label = upperForComparing(normaliseLabel(text));
    const parts = JSON.stringify(readWithGrammar(label, family.label).parts);
    const twin = slipsOf(label).find(
      (slip) => slip !== label && JSON.stringify(readWithGrammar(slip, family.label).parts) === parts,
    );
    return twin === undefined ? [] : [finding('family/loose-pattern', text, { family: family.family, twin })];
  });
}

function slipsOf(label: string): readonly string[] {
  const places = Array.from({ length: label.length + 1 }, (_, at) => at);
  return places.flatMap((at) => {
    const before = label.slice(0, at);
    const after = label.slice(at + 1);
    const others = [...'AX07- .'].flatMap((other) => [before + other + after, before + other + label.slice(at)]);
    return [before + after, ...others].map((slip) => normaliseLabel(slip));
  });
}

/** A place in a family file, line and column from 1, as editors count. */
export interface TextPosition {
  readonly line: number;
  readonly column: number;
}

type At<Fault> = TextPosition & Fault;

/** A family file as far as it could be read. */
export interface FamilyFile {
  readonly source: string;
  readonly content:
    | { readonly state: 'not-yaml'; readonly faults: readonly At<{ readonly what: string }>[] }
    | {
        readonly state: 'wrong-shape';
        readonly faults: readonly At<{ readonly key: string; readonly what: string; readonly todo: string }>[];
      }
    | {
        readonly state: 'read';
        readonly family: Family;
        /** Where a value stands, by its path of keys, or a character of it. */
        readonly placeOf: (path: FamilyProblem['path'], offset: number) => TextPosition;
      };
}

interface JudgedFamilies {
  /** The sound ones, in the order of their files. */
  readonly families: readonly Family[];
  /** Every problem of every file. */
  readonly findings: readonly Finding[];
}

/** Family files each by itself: YAML, shape, patterns, examples; and two that bear one name. */
export function judgeFamilyFiles(files: readonly FamilyFile[]): JudgedFamilies {
  const judged = files.map((file) => ({ file, findings: checkFamilyFile(file) }));
  const families: Family[] = [];
  const twins: Finding[] = [];
  for (const { file, findings } of judged) {
    if (file.content.state !== 'read' || findings.length > 0) continue;
    const { family } = file.content;
    const first = families.find((other) => other.family === family.family);
    if (first === undefined) families.push(family);
    else if (first.sha256 !== family.sha256) {
      twins.push(finding('family/name-twice', `${family.source}:1:1`, { family: family.family, first: first.source }));
    }
  }
  return { families, findings: [...judged.flatMap(({ findings }) => findings), ...twins] };
}

function checkFamilyFile({ source, content }: FamilyFile): readonly Finding[] {
  const at = ({ line, column }: TextPosition): string => `${source}:${line}:${column}`;
  switch (content.state) {
    case 'not-yaml':
      return content.faults.map((fault) => finding('family/not-yaml', at(fault), { what: fault.what }));
    case 'wrong-shape':
      return content.faults.map((fault) => {
        const { key, what, todo } = fault;
        return finding('family/wrong-shape', at(fault), { key, what, todo });
      });
    case 'read':
      return findFamilyProblems(content.family).map((problem) => {
        const offset = problem.kind === 'pattern' ? problem.offset : 0;
        return checkFamilyProblem(problem, at(content.placeOf(problem.path, offset)));
      });
  }
}

/** A problem inside a family file as a finding; `place` is `file:line:column`. */
function checkFamilyProblem(problem: FamilyProblem, place: string): Finding {
  switch (problem.kind) {
    case 'pattern':
      return finding('family/pattern-refused', place, { what: problem.what, todo: problem.todo });
    case 'example': {
      const { text, expected, cameOut } = problem;
      return finding('family/example-fails', place, { text, expected, cameOut });
    }
    case 'part':
      return finding('family/part-unknown', place, { what: problem.what, todo: problem.todo });
    case 'build':
      return finding('family/build-wrong', place, { what: problem.what, todo: problem.todo });
  }
}
