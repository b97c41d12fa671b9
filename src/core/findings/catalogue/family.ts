import { define } from '../../model/catalogue-entry.ts';

const practice = 'common practice, no source';
const nobodyReads = 'Without this family file no label of its panels is read, and no package is checked against them.';

interface Told {
  readonly what: string;
  readonly todo: string;
}

/** Findings of the area `family/`: family files that cannot be used as they are. Subjects are `file:line:column`. */
export const familyFindings = {
  'family/not-yaml': define<{ what: string }>({
    severity: 'stop',
    title: 'the family file cannot be read',
    seen: ({ what }, place) => `${place}: ${what}.`,
    why: nobodyReads,
    todo: 'Correct the file there. Spaces indent, never tabs; patterns stand in single quotes.',
    source: 'YAML 1.2.2',
  }),

  'family/wrong-shape': define<Told & { key: string }>({
    severity: 'stop',
    title: 'the family file says something that is not understood',
    seen: ({ key, what }, place) => `${place}: ${key}: ${what}.`,
    why: nobodyReads,
    todo: ({ todo }) => todo,
    source: 'family.schema.json',
  }),

  'family/pattern-refused': define<Told>({
    severity: 'stop',
    title: 'a pattern is refused',
    seen: ({ what }, place) => `${place}: ${what}.`,
    why: 'Patterns are matched in time that grows only with the length of the text, so that no label can hang the tool.',
    todo: ({ todo }) => todo,
    source: 'RE2 syntax, github.com/google/re2/wiki/Syntax',
  }),

  'family/part-unknown': define<Told>({
    severity: 'stop',
    title: 'a part is named that the pattern does not have',
    seen: ({ what }, place) => `${place}: ${what}.`,
    why: 'A part that nothing states could never be compared, and every package would be refused or, worse, pass.',
    todo: ({ todo }) => todo,
    source: practice,
  }),

  'family/example-fails': define<{ text: string; expected: string; cameOut: string }>({
    severity: 'stop',
    title: 'an example does not come out as stated',
    seen: ({ text, expected, cameOut }, place) => `${place}: "${text}" should give ${expected}, but gives ${cameOut}.`,
    why: 'The pattern or the example is wrong, so real labels may be read wrongly too.',
    todo: 'Compare the example with a real plate or package, then correct the pattern or the example.',
    source: practice,
  }),

  'family/build-wrong': define<Told>({
    severity: 'stop',
    title: 'a build or bridge cannot be what it says',
    seen: ({ what }, place) => `${place}: ${what}.`,
    why: 'Builds that cannot be read cannot be ordered, so an older package could pass for a newer one.',
    todo: ({ todo }) => todo,
    source: practice,
  }),

  'family/name-twice': define<{ family: string; first: string }>({
    severity: 'stop',
    title: 'two files describe the same family',
    seen: ({ family, first }, place) => `${place}: the family ${family} is described in ${first} too, differently.`,
    why: 'Which of the two rules would apply depends on chance.',
    todo: 'Keep the newer one, or give one of them another name.',
    source: practice,
  }),

  'family/two-read-label': define<{ families: readonly string[] }>({
    severity: 'stop',
    title: 'two families read the same label',
    seen: ({ families }, subject) => `The label "${subject}" is read by ${families.join(' and ')}.`,
    why: 'Each has packages of its own, and the wrong one can disable a panel; no stick could be prepared for such a label.',
    todo: "Make the patterns narrower: the maker's prefix, the exact number of digits, the letters that really occur.",
    source: practice,
  }),

  'family/two-claim-package': define<{ families: readonly string[] }>({
    severity: 'stop',
    title: 'two families claim the same package name',
    seen: ({ families }, subject) => `The package name ${subject} is claimed by ${families.join(' and ')}.`,
    why: 'The name alone would not say whose package it is, and the wrong one can disable a panel.',
    todo: 'Make the patterns narrower, so that each reads only the names of its own maker.',
    source: practice,
  }),

  'family/pattern-hidden': define<{ family: string; first: number; second: number }>({
    severity: 'caution',
    title: 'a package pattern never gets its turn',
    seen: ({ family, first, second }, subject) =>
      `${family}: ${subject} is an example of package pattern ${second}, but pattern ${first} reads it before.`,
    why: 'The first pattern that reads a name decides which parts must agree.',
    todo: 'Put the narrower pattern first, or make the earlier one narrower.',
    source: practice,
  }),

  'family/loose-pattern': define<{ family: string; twin: string }>({
    severity: 'caution',
    title: 'a slip in the label would pass unseen',
    seen: ({ family, twin }, subject) => `${family}: "${twin}" gives the same parts as "${subject}".`,
    why: 'A character that stands outside the named parts may be wrong without anybody noticing.',
    todo: 'Put every character that may vary into a named part, and write the others out. Leave it so if plates really carry both spellings.',
    source: practice,
  }),
};
