import { compareBuilds } from '../../build/compare-builds.ts';
import { readBuild } from '../../build/read-build.ts';
import { compilePattern, partOf, readWithGrammar } from '../../label/read-with-grammar.ts';
import type { FamilyFile, FamilyProblem, Grammar } from '../../model/family.ts';
import { normaliseLabel, upperForComparing } from '../../text/label-text.ts';

type LabelExample = FamilyFile['label']['examples'][number];

/** Names that a part cannot have, because examples and packages use them otherwise. */
const reserved = { label: ['text', 'build'], package: ['text'] };

/** Compiles the patterns, runs the examples and looks for part names that nothing supplies. */
export function findFamilyProblems(family: FamilyFile): readonly FamilyProblem[] {
  const compared = family.packages.flatMap(({ agree }) => agree);
  const label = [
    ...grammarProblems(family.label, ['label'], reserved.label, normaliseLabel),
    ...absentProblems(family.label, ['label'], compared),
  ];
  const packages = family.packages.flatMap((grammar, index) => [
    ...grammarProblems(grammar, ['packages', index], reserved.package, (text) => text.normalize('NFC')),
    ...absentProblems(grammar, ['packages', index], grammar.agree),
    ...agreeProblems(family.label, grammar, index),
  ]);
  return [...label, ...whereProblems(family), ...packages, ...findBuildProblems(family)];
}

function grammarProblems(
  grammar: Grammar & { readonly examples: readonly LabelExample[] },
  path: readonly (string | number)[],
  forbidden: readonly string[],
  normalise: (text: string) => string,
): readonly FamilyProblem[] {
  const compiled = compilePattern(grammar.pattern);
  if (compiled.regexp === undefined) return [{ path: [...path, 'pattern'], kind: 'pattern', ...compiled.problem }];
  const { parts } = compiled;
  const todo = 'Give the group in the pattern another name.';
  const taken = parts
    .filter((part) => forbidden.includes(part))
    .map((part) => ({
      path: [...path, 'pattern'],
      kind: 'part' as const,
      what: `no part can be called ${part}`,
      todo,
    }));
  const examples = grammar.examples.flatMap((example, index) =>
    exampleProblems(grammar, example, [...path, 'examples', index], normalise),
  );
  return [...taken, ...examples];
}

/** `absent` may name a part that the pattern never states, as long as it is compared: then it is fixed for all. */
function absentProblems(
  grammar: Grammar,
  path: readonly (string | number)[],
  compared: readonly string[],
): readonly FamilyProblem[] {
  const compiled = compilePattern(grammar.pattern);
  if (compiled.regexp === undefined) return [];
  const { parts } = compiled;
  return Object.keys(grammar.absent)
    .filter((part) => !parts.includes(part) && !compared.includes(part))
    .map((part) => unknownPart([...path, 'absent', part], part, parts));
}

const unknownPart = (path: readonly (string | number)[], part: string, parts: readonly string[]): FamilyProblem => ({
  path,
  kind: 'part',
  what: `the pattern has no part ${part}`,
  todo: `Its parts are: ${parts.join(', ') || 'none; name them with (?<name>…)'}.`,
});

function exampleProblems(
  grammar: Grammar,
  { text, ...expected }: LabelExample,
  path: readonly (string | number)[],
  normalise: (text: string) => string,
): readonly FamilyProblem[] {
  const wanted = Object.entries(expected);
  const say = (parts: readonly (readonly [string, string])[]) =>
    parts.map(([part, value]) => `${part} ${value}`).join(', ');
  const reading = readWithGrammar(normalise(text), grammar);
  if (reading.parts === undefined) {
    return [
      {
        path: [...path, 'text'],
        kind: 'example',
        text,
        expected: say(wanted) || 'a reading',
        cameOut: `nothing: ${reading.because}`,
      },
    ];
  }
  const { parts } = reading;
  return wanted
    .filter(([part, value]) => upperForComparing(partOf(parts, part) ?? '') !== upperForComparing(value))
    .map(([part, value]) => {
      const came = partOf(parts, part);
      const cameOut = came === undefined ? `no ${part} at all (${say(Object.entries(parts))})` : `${part} ${came}`;
      return { path: [...path, part], kind: 'example', text, expected: `${part} ${value}`, cameOut };
    });
}

/** Each part in `agree` must be one that both sides can state. */
function agreeProblems(
  label: Grammar,
  grammar: FamilyFile['packages'][number],
  index: number,
): readonly FamilyProblem[] {
  const onLabel = statable(label);
  const inName = statable(grammar);
  return grammar.agree.flatMap((part, at) => {
    const path = ['packages', index, 'agree', at];
    const lacking = [
      ...(onLabel === undefined || onLabel.has(part) ? [] : ["the label's pattern"]),
      ...(inName === undefined || inName.has(part) ? [] : ["this package's pattern"]),
    ];
    if (lacking.length === 0) return [];
    const what = `${part} must agree, but ${lacking.join(' and ')} cannot state it`;
    return [{ path, kind: 'part', what, todo: `Name a group (?<${part}>…) there, or take it out of agree.` }];
  });
}

function statable(grammar: Grammar): ReadonlySet<string> | undefined {
  const compiled = compilePattern(grammar.pattern);
  return compiled.regexp === undefined ? undefined : new Set([...compiled.parts, ...Object.keys(grammar.absent)]);
}

function whereProblems({ label }: FamilyFile): readonly FamilyProblem[] {
  const compiled = compilePattern(label.pattern);
  if (compiled.regexp === undefined) return [];
  const { parts } = compiled;
  return Object.keys(label.where)
    .filter((part) => !parts.includes(part))
    .map((part) => unknownPart(['label', 'where', part], part, parts));
}

/**
 * What the family says of builds and cannot mean: examples and bridges outside its scheme, bridges that lead nowhere.
 */
function findBuildProblems(family: FamilyFile): readonly FamilyProblem[] {
  return [...buildProblems(family), ...bridgeProblems(family)];
}

/** Examples state builds in their family's scheme. */
function buildProblems(family: FamilyFile): readonly FamilyProblem[] {
  return family.packages.flatMap(({ examples }, index) =>
    examples.flatMap(({ build }, at) =>
      build === undefined ? [] : unreadBuild(build, family, ['packages', index, 'examples', at, 'build']),
    ),
  );
}

function unreadBuild(text: string, family: FamilyFile, path: readonly (string | number)[]): readonly FamilyProblem[] {
  const reading = readBuild(text, family.build);
  if (reading.build !== undefined) return [];
  const what = `the build "${text}" does not read as ${family.build.scheme}: ${reading.because}`;
  return [{ path, kind: 'build', what, todo: 'Correct it, or the scheme under build.' }];
}

/** A bridge leads upwards: whoever must take it runs something older than what it brings. */
function bridgeProblems(family: FamilyFile): readonly FamilyProblem[] {
  return (family.bridges ?? []).flatMap((bridge, index) => {
    const path = ['bridges', index];
    const unread = (['running-before', 'first'] as const).flatMap((key) =>
      unreadBuild(bridge[key], family, [...path, key]),
    );
    const before = readBuild(bridge['running-before'], family.build).build;
    const first = readBuild(bridge.first, family.build).build;
    if (before === undefined || first === undefined) return unread;
    const order = compareBuilds(first, before);
    if (order === 'newer' || order === 'same') return [];
    const what = `the bridge ${bridge.first} is not clearly newer than ${bridge['running-before']} or equal to it`;
    const todo = 'first is the build to take; running-before is where it stops being needed.';
    return [{ path: [...path, 'first'], kind: 'build', what, todo }];
  });
}
