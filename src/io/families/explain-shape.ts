import { type Document, isMap, isScalar, type LineCounter, type Node } from 'yaml';
import type * as z from 'zod';
import type { TextPosition } from '../../core/checks/fit/check-families.ts';

interface ShapeProblem extends TextPosition {
  /** Dotted path of the key. */
  readonly key: string;
  readonly what: string;
  readonly todo: string;
}

/** The schema's complaints in plain words, each with its place in the file. */
export function explainShape(yaml: ParsedYaml, issues: readonly z.core.$ZodIssue[]): readonly ShapeProblem[] {
  return issues.flatMap((issue) => {
    const path = issue.path.map((step) => (typeof step === 'number' ? step : String(step)));
    if (issue.code === 'unrecognized_keys') {
      return issue.keys.map((key) => ({
        ...locateKey(yaml, path, key),
        key: dotted([...path, key]),
        what: `the key ${key} is not known here`,
        todo: 'Correct its spelling or take it out; family.schema.json lists the keys and lets an editor complete them.',
      }));
    }
    return [{ ...locateInYaml(yaml, path), key: dotted(path), ...explain(issue) }];
  });
}

const dotted = (path: readonly (string | number)[]): string =>
  path
    .reduce<string>((text, step) => (typeof step === 'number' ? `${text}[${step}]` : `${text}.${step}`), '')
    .slice(1) || 'the file';

function explain(issue: z.core.$ZodIssue): { what: string; todo: string } {
  const { input } = issue;
  if (issue.code === 'invalid_type' && input === undefined) {
    return { what: `it is missing (${wordFor(issue.expected)})`, todo: 'Add it.' };
  }
  if (issue.code === 'invalid_type' && issue.expected === 'string' && isPlainValue(input)) {
    return { what: `${input} is not text`, todo: `Put it in quotes: "${input}".` };
  }
  if (issue.code === 'invalid_value') {
    const allowed = issue.values.map((value) => String(value)).join(', ');
    return { what: `${shown(input)} is not one of: ${allowed}`, todo: 'Write one of these.' };
  }
  if (issue.code === 'invalid_type') {
    return { what: `${shown(input)} is not ${wordFor(issue.expected)}`, todo: `Write ${wordFor(issue.expected)}.` };
  }
  return {
    what: `${shown(input)}: ${issue.message}`,
    todo: 'Correct it; family.schema.json says what may stand there.',
  };
}

const isPlainValue = (input: unknown): input is number | boolean =>
  typeof input === 'number' || typeof input === 'boolean';

const words: Readonly<Record<string, string>> = {
  object: 'a map of keys',
  record: 'a map of keys',
  array: 'a list',
  string: 'text',
  boolean: 'true or false',
  number: 'a number',
};

const wordFor = (expected: string): string => words[expected] ?? expected;

function shown(input: unknown): string {
  const text = typeof input === 'string' ? input : (JSON.stringify(input) ?? 'nothing');
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
}

export interface ParsedYaml {
  readonly source: string;
  readonly document: Document;
  readonly lines: LineCounter;
}

type Path = readonly (string | number)[];

/**
 * Where a path of keys lies in the file: the value, or where it is missing the nearest thing around it. `offset` counts
 * characters into a text value, as read, and leads to that character in the file.
 */
export function locateInYaml(yaml: ParsedYaml, path: Path, offset = 0): TextPosition {
  const node = nearestNode(yaml.document, path);
  return placeAt(yaml, (node?.range?.[0] ?? 0) + sourceOffset(yaml.source, node, offset));
}

/** Where a key itself stands: for keys that do not belong there. */
function locateKey(yaml: ParsedYaml, path: Path, key: string): TextPosition {
  const map = path.length === 0 ? yaml.document.contents : yaml.document.getIn(path, true);
  const pair = isMap(map) ? map.items.find((item) => isScalar(item.key) && String(item.key.value) === key) : undefined;
  const start = isScalar(pair?.key) ? pair.key.range?.[0] : undefined;
  return start === undefined ? locateInYaml(yaml, path) : placeAt(yaml, start);
}

function placeAt({ lines }: ParsedYaml, position: number): TextPosition {
  const { line, col } = lines.linePos(position);
  return { line: Math.max(1, line), column: Math.max(1, col) };
}

function nearestNode(document: Document, path: Path): Node | undefined {
  for (let length = path.length; length > 0; length--) {
    const node = document.getIn(path.slice(0, length), true);
    if (node !== undefined && node !== null) return node as Node;
  }
  return document.contents ?? undefined;
}

/** YAML 1.2.2 section 7.3: in single quotes '' is one character, in double quotes a backslash starts an escape. */
function sourceOffset(source: string, node: Node | undefined, offset: number): number {
  if (offset === 0 || !isScalar(node) || node.range === undefined || node.range === null) return 0;
  if (node.type === 'PLAIN') return offset;
  if (node.type !== 'QUOTE_SINGLE' && node.type !== 'QUOTE_DOUBLE') return 0;
  const twoForOne = node.type === 'QUOTE_SINGLE' ? /''/y : /\\./y;
  let position = node.range[0] + 1;
  for (let read = 0; read < offset; read++) {
    twoForOne.lastIndex = position;
    position += twoForOne.test(source) ? 2 : 1;
  }
  return position - node.range[0];
}
