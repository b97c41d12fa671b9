import type * as z from 'zod';
import { locateInYaml, locateKey, type ParsedYaml, type Place } from './locate-in-yaml.ts';

export interface ShapeProblem {
  readonly place: Place;
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
        place: locateKey(yaml, path, key),
        key: dotted([...path, key]),
        what: `the key ${key} is not known here`,
        todo: 'Correct its spelling or take it out; family.schema.json lists the keys and lets an editor complete them.',
      }));
    }
    return [{ place: locateInYaml(yaml, path), key: dotted(path), ...explain(issue) }];
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
