import { readBuild } from '../build/read-build.ts';
import { type BuildScheme, buildSchemes } from '../model/build.ts';
import type { Parts } from '../model/panel-identity.ts';
import { normaliseLabel, upperForComparing } from '../text/label-text.ts';
import {
  escapeLiteral,
  type NamedParts,
  type PatternProposal,
  type ProposedPattern,
  proposePattern,
} from './propose-pattern.ts';
import { readWithGrammar } from './read-with-grammar.ts';

export interface FleetExamples {
  /** Short name of the family: small letters, digits and dashes. */
  readonly family: string;
  readonly title: string;
  readonly labels: readonly NamedParts[];
  /** Their part `build` is the build. */
  readonly packages: readonly NamedParts[];
  /** What it means that a part is not there; asked for each optional part. */
  readonly absent: Parts;
  /**
   * This maker's files are always called the same: the name says nothing of the panel, and nothing can be compared.
   */
  readonly nameSaysNothing?: true | undefined;
  /** A build of this maker's, where no name carries one. */
  readonly saidBuild?: string | undefined;
  /** On whose word it rests that labels and packages belong together, and where each part was read. */
  readonly madeFrom?: { readonly by: string; readonly whereRead: Parts } | undefined;
}

interface ExampleReading {
  readonly text: string;
  /** The parts as they were given. */
  readonly said: Parts;
  /** Undefined where the proposed pattern does not read it. */
  readonly parts: Parts | undefined;
}

export interface FamilyProposal {
  readonly examples: FleetExamples;
  readonly label: ProposedPattern;
  readonly package: ProposedPattern;
  /** Parts that labels and packages share, builds apart. */
  readonly agree: readonly string[];
  readonly scheme: BuildScheme;
  /** Optional parts whose absence nobody has explained yet. */
  readonly unexplained: readonly string[];
  readonly readings: readonly ExampleReading[];
}

type FamilyOrReason =
  | { readonly proposal: FamilyProposal }
  | { readonly proposal: undefined; readonly because: string };

/** Proposes a family from some labels and package names and what their parts mean. */
export function proposeFamily(given: FleetExamples): FamilyOrReason {
  const wide = proposeWith(given, false);
  // Where a wider pattern would take a part's characters for another part, only what was seen is sure.
  return wide.proposal === undefined || wide.proposal.readings.every(asSaid) ? wide : proposeWith(given, true);
}

const asSaid = ({ said, parts }: ExampleReading): boolean =>
  Object.entries(said).every(([part, value]) => upperForComparing(parts?.[part] ?? '') === upperForComparing(value));

function proposeWith(given: FleetExamples, exact: boolean): FamilyOrReason {
  const no = (because: string): FamilyOrReason => ({ proposal: undefined, because });
  const labels = given.labels.map(({ text, parts }) => ({ text: normaliseLabel(text), parts }));
  const examples = { ...given, labels };
  const taken = reservedName(labels, ['text', 'build']) ?? reservedName(given.packages, ['text']);
  if (taken !== undefined) return no(`no part can be called ${taken}`);
  const scheme = schemeOf(given);
  if ('because' in scheme) return no(scheme.because);
  const label = proposePattern(labels, { exact });
  const packaged = given.nameSaysNothing
    ? sameNames(given.packages, scheme.scheme)
    : proposePattern(given.packages, { exact, scheme: scheme.scheme });
  const reason = refusal('labels', label) ?? refusal('packages', packaged);
  if (reason !== undefined || label.pattern === undefined || packaged.pattern === undefined) {
    return no(reason ?? 'no pattern was found');
  }
  const agree = packaged.parts.filter((part) => label.parts.includes(part));
  if (agree.length === 0 && !given.nameSaysNothing)
    return no('labels and packages share no part, so nothing could be compared');
  const unexplained = [...new Set([...label.optional, ...packaged.optional])].filter(
    (part) => part !== 'build' && !Object.hasOwn(given.absent, part),
  );
  const read = (pattern: string) => (example: NamedParts) => ({
    text: example.text,
    said: example.parts,
    parts: readWithGrammar(example.text, { pattern, absent: given.absent }).parts,
  });
  const readings = [...labels.map(read(label.pattern)), ...given.packages.map(read(packaged.pattern))];
  return { proposal: { examples, label, package: packaged, agree, scheme: scheme.scheme, unexplained, readings } };
}

/** Names that differ in nothing but, perhaps, the build. */
function sameNames(packages: readonly NamedParts[], scheme: BuildScheme): PatternProposal {
  const [first] = packages;
  if (packages.some(({ parts }) => Object.keys(parts).length > 0)) return proposePattern(packages, { scheme });
  const other = packages.find(({ text }) => text !== first?.text);
  return other === undefined && first !== undefined
    ? { pattern: `^${escapeLiteral(first.text)}$`, parts: [], optional: [] }
    : { pattern: undefined, because: `"${other?.text}" is called otherwise, and no part says why` };
}

type SchemeOrReason = { readonly scheme: BuildScheme } | { readonly because: string };

const schemesInWords = 'date, version, counter, letters, version and date';

/** Every package brings a build, which stands in its name or was said. */
function schemeOf({ packages, saidBuild, nameSaysNothing }: FleetExamples): SchemeOrReason {
  const inNames = packages.flatMap(({ parts }) => parts.build ?? []);
  const without = packages.find(({ parts }) => parts.build === undefined);
  if (saidBuild === undefined && without !== undefined && !nameSaysNothing)
    return { because: `the builds are missing: "${without.text}" has none` };
  const builds = saidBuild === undefined ? inNames : [...inNames, saidBuild];
  // Where nobody says a build, none is ever compared by the name.
  if (builds.length === 0) return { scheme: 'version' };
  const scheme = guessScheme(builds);
  if (scheme !== undefined) return { scheme };
  const odd = builds.find((_, at) => guessScheme(builds.slice(0, at + 1)) === undefined);
  return { because: `the build "${odd}" does not follow one scheme with the others (${schemesInWords})` };
}

const reservedName = (examples: readonly NamedParts[], names: readonly string[]): string | undefined =>
  names.find((name) => examples.some(({ parts }) => Object.hasOwn(parts, name)));

const refusal = (what: string, proposed: PatternProposal): string | undefined =>
  proposed.pattern === undefined ? `${what}: ${proposed.because}` : undefined;

/** The first scheme that reads all builds; digits are a date where all can be one. */
function guessScheme(builds: readonly string[]): BuildScheme | undefined {
  const order: readonly BuildScheme[] = ['date', 'counter', 'version-date', 'version', 'letters'];
  return [...order, ...buildSchemes].find((scheme) =>
    builds.every((build) => readBuild(build, { scheme }).build !== undefined),
  );
}

/** In single quotes a pattern's backslashes stand as they are (YAML 1.2.2, 7.3.2). */
export const quoted = (text: string): string => `'${text.replaceAll("'", "''")}'`;

const map = (entries: readonly (readonly [string, string])[]): string =>
  entries.length === 0 ? '{}' : `{ ${entries.map(([key, value]) => `${key}: ${quoted(value)}`).join(', ')} }`;

/** The commented text of a family file; what only the maker's document can say is marked with "Check". */
export function writeFamilyYaml({
  examples,
  label,
  package: packaged,
  agree,
  scheme,
  unexplained,
}: FamilyProposal): string {
  const meaning = (parts: readonly string[]) => {
    const known = parts.map((part): [string, string] => [part, examples.absent[part] ?? 'none']);
    return map(known.filter(([part]) => part !== 'build'));
  };
  const check = unexplained.map(
    (part) => `  # Check: what does it mean when ${part} is not there? It is written as none until you know.`,
  );
  return [
    '# yaml-language-server: $schema=family.schema.json',
    "# Proposed from examples. Read every line once beside real plates and the maker's document.",
    'schema: 1',
    `family: ${quoted(examples.family)}`,
    `title: ${quoted(examples.title)}`,
    '',
    'label:',
    '  # RE2 pattern over the whole label, in any case. stickwright family widen takes in a plate that shows more digits.',
    `  pattern: ${quoted(label.pattern)}`,
    ...check,
    `  absent: ${meaning(label.optional)}`,
    '  # Where on the plate each part stands, for whoever must look again.',
    `  where: ${map(label.parts.map((part) => [part, 'on the model line']))}`,
    '  examples:',
    ...examples.labels.map(exampleLine),
    '',
    'packages:',
    agree.length > 0
      ? '  # Over the whole file name. The parts under agree must equal the label; the others serve all panels.'
      : "  # This maker's files are always called so: the name says nothing of the panel, and no stick of it is ever READY.",
    `  - pattern: ${quoted(packaged.pattern)}`,
    `    absent: ${meaning(packaged.optional)}`,
    `    agree: [${agree.join(', ')}]`,
    '    examples:',
    ...examples.packages.map((example) => `  ${exampleLine(example)}`),
    '',
    `build: { scheme: ${scheme} }`,
    '',
    ...madeFrom(examples),
    ...modes,
    '',
  ].join('\n');
}

/** The family says of itself that nobody has seen it prove right yet. */
const madeFrom = ({ labels, packages, madeFrom: made }: FleetExamples): readonly string[] =>
  made === undefined
    ? []
    : [
        '# Made at a desk from what lay on the table. It proves nothing about that: whatever is prepared by it is UNPROVEN',
        '# until a label and its package from elsewhere confirm it: stickwright family confirm.',
        'made-from:',
        `  labels: [${labels.map(({ text }) => quoted(text)).join(', ')}]`,
        `  packages: [${packages.map(({ text }) => quoted(text)).join(', ')}]`,
        `  by: ${quoted(made.by)}`,
        `  where-read: ${map(Object.entries(made.whereRead))}`,
        '  confirmed: []',
        '',
      ];

const exampleLine = ({ text, parts }: NamedParts): string =>
  `    - ${map([['text', text], ...Object.entries(parts).filter(([, value]) => value !== '')])}`;

const modes = [
  'modes:',
  "  # Check both against the maker's document; these are careful guesses, not facts about your panels.",
  '  in-os:',
  '    file-systems: [fat32]',
  '    keeps-data: true',
  "    port: the port that the maker's document names",
  '    steps:',
  "      - Follow the maker's document for local updates.",
  '  recovery:',
  '    file-systems: [fat32]',
  '    partition-table: [mbr]',
  '    largest-stick: 32 GB',
  '    keeps-data: false',
  "    port: the port that the maker's document names",
  '    steps:',
  "      - Follow the maker's service document; never use key sequences from memory.",
  '    cautions:',
  '      - Everything on the panel is wiped.',
];
