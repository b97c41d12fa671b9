import type { NamedParts } from './align-parts.ts';
import type { FamilyProposal } from './propose-family.ts';

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
