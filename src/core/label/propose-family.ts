import { readBuild } from '../build/read-build.ts';
import { type BuildScheme, buildSchemes } from '../model/family.ts';
import type { Parts } from '../model/panel-identity.ts';
import { normaliseLabel } from '../text/label-text.ts';
import { type NamedParts, type PatternProposal, type ProposedPattern, proposePattern } from './propose-pattern.ts';
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
}

interface ExampleReading {
  readonly text: string;
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

/** Proposes a family from two or three labels and package names and what their parts mean. */
export function proposeFamily(given: FleetExamples): FamilyOrReason {
  const labels = given.labels.map(({ text, parts }) => ({ text: normaliseLabel(text), parts }));
  const examples = { ...given, labels };
  const taken = reservedName(labels, ['text', 'build']) ?? reservedName(given.packages, ['text']);
  if (taken !== undefined) return { proposal: undefined, because: `no part can be called ${taken}` };
  const label = proposePattern(labels);
  const packaged = proposePattern(given.packages);
  const reason = refusal('labels', label) ?? refusal('packages', packaged);
  if (reason !== undefined || label.pattern === undefined || packaged.pattern === undefined) {
    return { proposal: undefined, because: reason ?? 'no pattern was found' };
  }
  const agree = packaged.parts.filter((part) => part !== 'build' && label.parts.includes(part));
  if (agree.length === 0)
    return { proposal: undefined, because: 'labels and packages share no part, so nothing could be compared' };
  const scheme = guessScheme(given.packages.flatMap(({ parts }) => parts.build ?? []));
  if (scheme === undefined) {
    return {
      proposal: undefined,
      because:
        'the builds are missing, or do not all follow one scheme (date, version, counter, letters, version and date)',
    };
  }
  const unexplained = [...new Set([...label.optional, ...packaged.optional])].filter(
    (part) => part !== 'build' && !Object.hasOwn(given.absent, part),
  );
  const read = (pattern: string) => (example: NamedParts) => ({
    text: example.text,
    parts: readWithGrammar(example.text, { pattern, absent: given.absent }).parts,
  });
  const readings = [...labels.map(read(label.pattern)), ...given.packages.map(read(packaged.pattern))];
  return { proposal: { examples, label, package: packaged, agree, scheme, unexplained, readings } };
}

const reservedName = (examples: readonly NamedParts[], names: readonly string[]): string | undefined =>
  names.find((name) => examples.some(({ parts }) => Object.hasOwn(parts, name)));

const refusal = (what: string, proposed: PatternProposal): string | undefined =>
  proposed.pattern === undefined ? `${what}: ${proposed.because}` : undefined;

/** The first scheme that reads all builds; digits are a date where all can be one. */
function guessScheme(builds: readonly string[]): BuildScheme | undefined {
  const order: readonly BuildScheme[] = ['date', 'counter', 'version-date', 'version', 'letters'];
  if (builds.length === 0) return undefined;
  return [...order, ...buildSchemes].find((scheme) =>
    builds.every((build) => readBuild(build, { scheme }).build !== undefined),
  );
}

/** In single quotes a pattern's backslashes stand as they are (YAML 1.2.2, 7.3.2). */
const quoted = (text: string): string => `'${text.replaceAll("'", "''")}'`;

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
    '  # RE2 pattern over the whole label, in any case. Widen it where real plates show more: \\d{2,3} for sizes of 75 and 110.',
    `  pattern: ${quoted(label.pattern)}`,
    ...check,
    `  absent: ${meaning(label.optional)}`,
    '  # Where on the plate each part stands, for whoever must look again.',
    `  where: ${map(label.parts.map((part) => [part, 'on the model line']))}`,
    '  examples:',
    ...examples.labels.map(exampleLine),
    '',
    'packages:',
    '  # Over the whole file name. The parts under agree must equal the label; the others serve all panels.',
    `  - pattern: ${quoted(packaged.pattern)}`,
    `    absent: ${meaning(packaged.optional)}`,
    `    agree: [${agree.join(', ')}]`,
    '    examples:',
    ...examples.packages.map((example) => `  ${exampleLine(example)}`),
    '',
    `build: { scheme: ${scheme} }`,
    '',
    ...modes,
    '',
  ].join('\n');
}

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
