import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Command } from '@commander-js/extra-typings';
import stringWidth from 'string-width';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { commands } from '../../src/cli/commands.ts';
import { addWords } from '../../src/cli/frame/command.ts';
import { catalogue, type FindingCode } from '../../src/core/findings/catalogue.ts';
import { textsOf } from '../../src/core/findings/finding.ts';
import { renderFailure, renderFindings } from '../../src/render/text/render-findings.ts';
import { anyFacts } from '../fixtures/any-facts.ts';

const look = { colour: false, columns: 80 };
const codes = Object.keys(catalogue) as FindingCode[];
const facts = anyFacts('x', { kind: 'xls', mangling: 'hashes', mode: 'recovery', cut: 'entry', by: 'drive' });

/** The sentences of a text; an indented line is a list, a mark or a command, and is none. */
const sentencesOf = (text: string): string =>
  text
    .split('\n')
    .filter((line) => !/^\s/.test(line))
    .join(' ')
    .trim();

const isWhole = (text: string): boolean => /[.!?:]["”’)`]*$|"[^"]*"$/.test(sentencesOf(text));

/**
 * An advice to do the same once more helps only where something was changed before: a sentence that says so has its
 * cure in front, or says to wait, or what follows where it fails once more.
 */
const blindly =
  /(?:^|[.!?] )(?:Please )?(?:run|try|start|do|repeat)(?: (?:it|this|that|the (?:same )?command))* again[.!]/i;

describe('what is said of every finding', () => {
  it.each(codes)('%s has whole sentences, within 80 columns', (code) => {
    const { seen, why, todo } = textsOf({ code, subject: 'x', facts });
    for (const text of [seen, why, todo]) {
      expect(isWhole(text), text).toBe(true);
      expect(text).not.toMatch(blindly);
    }
    const lines = renderFindings([{ code, subject: 'x', facts }], look).split('\n');
    // What is to be copied is longer than a line in none of them.
    expect(lines.filter((line) => stringWidth(line) > 80)).toEqual([]);
  });
});

interface Said {
  readonly at: string;
  readonly code: string;
  readonly message: string;
  readonly todo: string;
}

/** A literal, a template, a choice between two, or a name of this file: as far as it stands in the source. */
function wordsOf(node: ts.Node | undefined, file: ts.SourceFile): readonly string[] {
  if (node === undefined) return [];
  if (ts.isStringLiteralLike(node)) return [node.text];
  if (ts.isTemplateExpression(node))
    return [
      `${node.head.text}${node.templateSpans.map(({ literal }) => `x${literal.text}`).join('')}`.replace(/x$/, 'x.'),
    ];
  if (ts.isConditionalExpression(node)) return [...wordsOf(node.whenTrue, file), ...wordsOf(node.whenFalse, file)];
  if (ts.isIdentifier(node)) {
    const found = new RegExp(`const ${node.text}(?:: string)? =\\s*(['"\`])([\\s\\S]*?)\\1;`).exec(file.text);
    return found?.[2] === undefined
      ? []
      : [
          found[2]
            .replace(/\$\{[^}]*\}$/, 'x.')
            .replace(/\$\{[^}]*\}/g, 'x')
            .replaceAll("\\'", "'"),
        ];
  }
  return [];
}

function toolErrors(): readonly Said[] {
  const files = readdirSync('src', { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
  return files.flatMap((name) => {
    const file = ts.createSourceFile(name, readFileSync(join('src', name), 'utf8'), ts.ScriptTarget.Latest, true);
    const found: Said[] = [];
    const visit = (node: ts.Node): void => {
      if (ts.isNewExpression(node) && node.expression.getText(file) === 'ToolError') {
        const [code, , message, todo] = node.arguments ?? [];
        const at = `${name}:${file.getLineAndCharacterOfPosition(node.getStart()).line + 1}`;
        for (const said of wordsOf(message, file))
          for (const help of wordsOf(todo, file))
            found.push({ at, code: wordsOf(code, file)[0] ?? 'system/failed', message: said, todo: help });
      }
      // The words that the system's answers are told in.
      if (ts.isObjectLiteralExpression(node)) {
        const member = (key: string) =>
          node.properties.find(
            (one): one is ts.PropertyAssignment => ts.isPropertyAssignment(one) && one.name.getText(file) === key,
          )?.initializer;
        const [code, message, todo] = [member('code'), member('message'), member('todo')].map((one) =>
          wordsOf(one, file),
        );
        const at = `${name}:${file.getLineAndCharacterOfPosition(node.getStart()).line + 1}`;
        if (message?.[0] !== undefined && todo?.[0] !== undefined)
          found.push({ at, code: code?.[0] ?? 'stick/read-failed', message: message[0], todo: todo[0] });
      }
      node.forEachChild(visit);
    };
    visit(file);
    return found;
  });
}

describe('what is said where there is no answer', () => {
  const all = toolErrors();

  it('is looked at, nearly all of it', () => {
    const made = readdirSync('src', { recursive: true, encoding: 'utf8' })
      .filter((name) => name.endsWith('.ts'))
      .reduce((sum, name) => sum + readFileSync(join('src', name), 'utf8').split('new ToolError(').length - 1, 0);
    expect(all.length).toBeGreaterThan(made * 0.8);
  });

  it.each(all)('$at names the place and what helps, in whole sentences', ({ code, message, todo }) => {
    const said = renderFailure({ code, subject: '/media/stick', message, todo }, look);
    const [head, ...lines] = said.trimEnd().split('\n');
    expect(head).toBe(`No answer [${code}]`);
    expect(lines.join(' ')).toMatch(/\/media\/stick: |x/);
    expect(isWhole(todo), todo).toBe(true);
    expect(todo).not.toMatch(blindly);
    expect(lines.filter((line) => stringWidth(line) > 80)).toEqual([]);
    expect(lines.every((line) => line.startsWith('  '))).toBe(true);
  });

  it.each(all.filter(({ code }) => cannotHelp.has(code)))(
    '$at does not send anybody to the same command',
    ({ todo }) => {
      // Only behind a cure: "make room, then run the same command again".
      for (const sentence of todo.split(/(?<=[.!?])\s/))
        if (/same command|again\b/.test(sentence)) expect(sentence).toMatch(/\b(then|and|copy|download|get it)\b|, /i);
    },
  );
});

describe('what a message sends somebody to', async () => {
  const named = new Map(commands.map(([name, , what]) => [name, what]));
  const options = new Set<string>();
  for (const [name, what] of named) {
    if (typeof what !== 'function') continue;
    const it = new Command(name) as unknown as Command;
    addWords(it, await what(), async () => {});
    for (const { long, negate } of it.options)
      if (long != null) options.add(negate ? long.replace('--no-', '--') : long);
  }
  const said = [
    ...codes.flatMap((code) => {
      const { seen, why, todo } = textsOf({ code, subject: 'x', facts });
      return [seen, why, todo].map((text) => ({ at: code as string, text }));
    }),
    ...toolErrors().flatMap(({ at, message, todo }) => [message, todo].map((text) => ({ at, text }))),
  ];

  it('are options that some command has', () => {
    const all = said.flatMap(({ at, text }) =>
      (text.match(/--[a-z][a-z0-9-]*/g) ?? []).map((option) => ({ at, option })),
    );
    expect(all.filter(({ option }) => !options.has(option))).toEqual([]);
    expect(all.length).toBeGreaterThan(30);
  });

  it('are commands that there are', () => {
    const all = said.flatMap(({ at, text }) =>
      [...text.matchAll(/(`?)stickwright ([a-z-]+)(?: ([a-z-]+))?/g)].map(([, quoted, first = '', second = '']) => ({
        at,
        // Without quotation marks it may be the program that is spoken of: what follows a group is a command.
        isOne: !named.has(first)
          ? quoted === ''
          : typeof named.get(first) === 'function' || named.has(`${first} ${second}`) || first === 'settings',
      })),
    );
    expect(all.filter(({ isOne }) => !isOne)).toEqual([]);
    expect(all.length).toBeGreaterThan(30);
  });
});

/** States that stay as they are until somebody changes something. */
const cannotHelp: ReadonlySet<string> = new Set([
  'file/not-found',
  'file/not-permitted',
  'stick/not-found',
  'stick/read-only',
  'stick/full',
  'stick/damaged',
  'stick/unsupported-file-system',
  'stick/refused',
  'stick/name-taken',
  'family/unreadable',
  'shelf/refused',
  'round/not-found',
  'cards/no-browser',
]);
