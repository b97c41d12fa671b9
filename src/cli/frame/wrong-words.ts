import { existsSync } from 'node:fs';
import type { Command, Option } from '@commander-js/extra-typings';
import { didYouMean, nearestWords, orInWords } from '../../core/text/nearest.ts';
import { quotedInShells } from '../../core/text/words.ts';
import { choiceFor } from '../words.ts';
import { type Instead, partsOf } from './command.ts';
import { UsageError } from './exit-codes.ts';

interface Problem {
  readonly what: string;
  readonly todo: string;
}

interface Operand {
  readonly word: string;
  /** The option whose value stands right before it. */
  readonly after: Option | undefined;
}

interface ReadWords {
  readonly unknown: readonly string[];
  readonly valueless: readonly Option[];
  readonly values: ReadonlyMap<Option, readonly string[]>;
  readonly operands: readonly Operand[];
}

/**
 * Throws a UsageError with all that is wrong with the words of one command, slips before what is missing: commander
 * tells the first thing that it stumbles over, and takes the last of two labels without a word.
 */
export function checkWords(program: Command, words: readonly string[]): void {
  const { command, rest, stranger } = findCommand(program, words);
  if (rest.some((word) => ['-h', '--help', '-V', '--version'].includes(word))) return;
  if (stranger !== undefined) throw toError([unknownCommand(command, stranger)]);
  const parts = partsOf(command);
  if (parts === undefined) return;
  const read = readWords(command, rest);
  const split = splitLabel(read);
  const given = read.operands.length - (split?.words ?? 0);
  const problems = [
    ...(split === undefined ? [] : [unquoted(split)]),
    ...unknownOptions(command, read),
    ...twice(read),
    ...valuelessOptions(read),
    ...noChoices(read),
    // Behind an option that is none stands perhaps its value.
    ...(read.unknown.length > 0 ? [] : tooMany(command, read, given - mostOperands(command))),
    ...missing(command, read, parts.instead ?? {}, given),
  ];
  if (problems.length > 0) throw toError(problems);
}

function findCommand(program: Command, words: readonly string[]) {
  let command = program;
  for (const [at, word] of words.entries()) {
    const rest = words.slice(at);
    if (word.startsWith('-')) return { command, rest, stranger: undefined };
    const next = command.commands.find((one) => one.name() === word || one.aliases().includes(word));
    if (next === undefined) {
      const isGroup = command.commands.length > 0 && word !== 'help';
      return { command, rest, stranger: isGroup ? word : undefined };
    }
    command = next as unknown as Command;
  }
  return { command, rest: [] as readonly string[], stranger: undefined };
}

/** As commander reads them: `--name value`, `--name=value`, `-n value`, `-nvalue`; `--` ends the options. */
function readWords(command: Command, words: readonly string[]): ReadWords {
  const unknown: string[] = [];
  const missingValue: Option[] = [];
  const values = new Map<Option, string[]>();
  const operands: Operand[] = [];
  let after: Option | undefined;
  for (let at = 0; at < words.length; at++) {
    const word = words[at] ?? '';
    if (word === '--') {
      operands.push(...words.slice(at + 1).map((text) => ({ word: text, after: undefined })));
      break;
    }
    if (word.length < 2 || !word.startsWith('-')) {
      operands.push({ word, after });
      continue;
    }
    after = undefined;
    const [name = '', inline] = cutAtEquals(word);
    const option = optionOf(command, name);
    if (option === undefined) {
      // `-lTEXT` holds its value; `-nq` are two.
      const first = word.startsWith('--') ? undefined : optionOf(command, word.slice(0, 2));
      if (first === undefined) unknown.push(name);
      else values.set(first, [...(values.get(first) ?? []), ...(first.required ? [word.slice(2)] : [])]);
      continue;
    }
    const given = values.get(option) ?? [];
    values.set(option, given);
    if (!option.required) continue;
    const value = inline ?? words[at + 1];
    if (value === undefined || (inline === undefined && optionOf(command, cutAtEquals(value)[0] ?? '') !== undefined)) {
      missingValue.push(option);
      continue;
    }
    given.push(value);
    if (inline === undefined) {
      at++;
      after = option;
    }
  }
  return { unknown, valueless: missingValue, values, operands };
}

const cutAtEquals = (word: string): readonly string[] => {
  const at = word.startsWith('--') ? word.indexOf('=') : -1;
  return at < 0 ? [word] : [word.slice(0, at), word.slice(at + 1)];
};

const optionsOf = (command: Command): readonly Option[] =>
  command.parent === null ? command.options : [...command.options, ...optionsOf(command.parent as Command)];

const optionOf = (command: Command, name: string): Option | undefined =>
  optionsOf(command).find((option) => option.long === name || option.short === name);

/** A label whose second half stands where another word should: the shell took its space for the end of the word. */
function splitLabel({ operands, values }: ReadWords): SplitLabel | undefined {
  const first = operands.find(({ after }) => after !== undefined && ofPlates.includes(after.long ?? ''));
  const option = first?.after;
  if (option === undefined) return undefined;
  const behind = operands.filter(({ after }) => after === option).map(({ word }) => word);
  // An archive may well stand behind a label.
  const end = behind.findIndex((word) => existsSync(word) || /\.zip$/i.test(word));
  const rest = end < 0 ? behind : behind.slice(0, end);
  if (rest.length === 0) return undefined;
  return { option, words: rest.length, text: [values.get(option)?.at(-1) ?? '', ...rest].join(' ') };
}

interface SplitLabel {
  readonly option: Option;
  /** How many words behind the option's value belong to it. */
  readonly words: number;
  readonly text: string;
}

const ofPlates: readonly string[] = ['--label', '--again'];

const unquoted = ({ option, text }: SplitLabel): Problem => ({
  what: `The label after ${option.long} has a space and no quotation marks, so that only its first word was read.`,
  todo: `Put it in quotation marks. ${quotedInShells(`${option.long} `, text)}`,
});

const nameOf = (command: Command): string =>
  command.parent === null ? command.name() : `${nameOf(command.parent as Command)} ${command.name()}`;

function unknownCommand(command: Command, word: string): Problem {
  const known = command.commands.map((one) => one.name());
  return {
    what: `There is no command "${word}".${didYouMean(nearestWords(word, known))}`,
    todo: `All of them: \`${nameOf(command)} --help\`.`,
  };
}

/** The option that was probably meant, without its dashes at first: `-mode` and `--lable` are met most. */
function meantBy(command: Command, name: string): readonly string[] {
  const known = optionsOf(command).flatMap(({ long }) => (long === undefined || long === null ? [] : [long]));
  return nearestWords(`--${name.replace(/^-+/, '')}`, known, 2);
}

function unknownOptions(command: Command, { unknown }: ReadWords): readonly Problem[] {
  return unknown.map((name) => ({
    what: `There is no option ${name}.${didYouMean(meantBy(command, name))}`,
    todo: `All of them: \`${nameOf(command)} --help\`.`,
  }));
}

function twice({ values }: ReadWords): readonly Problem[] {
  return [...values]
    .filter(([option, given]) => option.required && !Array.isArray(option.defaultValue) && given.length > 1)
    .map(([{ long }, given]) => ({
      what: `${long} was given ${given.length === 2 ? 'twice' : `${given.length} times`}: ${given.map((one) => `"${one}"`).join(', ')}.`,
      todo: `Give ${long} once. Which one is right is not guessed.`,
    }));
}

const valuelessOptions = ({ valueless }: ReadWords): readonly Problem[] =>
  valueless.map(({ long, flags, description }) => ({
    what: `${long} lacks what belongs behind it.`,
    todo: `Write ${flags.replace(/^-\w, /, '')}: ${description}.`,
  }));

const noChoices = ({ values }: ReadWords): readonly Problem[] =>
  [...values].flatMap(([{ long, argChoices }, given]) =>
    given
      .filter((word) => argChoices !== undefined && choiceFor(argChoices, word) === undefined)
      .map((word) => ({
        what: `${long} ${word} is none of ${orInWords(argChoices ?? [])}.${didYouMean(nearestWords(word, argChoices ?? [], 1))}`,
        todo: `Write ${long} with ${orInWords(argChoices ?? [])}.`,
      })),
  );

function tooMany(command: Command, { operands }: ReadWords, surplus: number): readonly Problem[] {
  const most = mostOperands(command);
  if (surplus <= 0) return [];
  const shown = operands.map(({ word }) => `"${word}"`).join(', ');
  if (most === 0) return [{ what: `${nameOf(command)} takes no such words: ${shown}.`, todo: 'Leave them out.' }];
  const whole = operands
    .slice(most - 1)
    .map(({ word }) => word)
    .join(' ');
  return [
    {
      what: `${operands.length} words stand where ${nameOf(command)} takes ${most}: ${shown}.`,
      todo: `If they belong together, put them in quotation marks. ${quotedInShells('', whole)}`,
    },
  ];
}

const mostOperands = (command: Command): number =>
  command.registeredArguments.some(({ variadic }) => variadic)
    ? Number.POSITIVE_INFINITY
    : command.registeredArguments.length;

/** All that is missing at once, but not what a slip was probably meant to be. */
function missing(command: Command, read: ReadWords, instead: Instead, given: number): readonly Problem[] {
  const has = (long: string): boolean =>
    [...read.values.keys(), ...read.valueless].some((option) => option.long === long);
  const meant = new Set(read.unknown.flatMap((name) => meantBy(command, name)));
  const isStoodFor = (word: string): boolean => instead[word] !== undefined && has(instead[word]);
  const names = [
    ...command.registeredArguments
      .filter((argument, at) => at >= given && (argument.required || instead[argument.name()] !== undefined))
      .map((argument) => ({ word: `<${argument.name()}>`, key: argument.name(), about: argument.description })),
    ...command.options
      .filter(({ mandatory, long }) => mandatory && !has(long ?? '') && !meant.has(long ?? ''))
      .map(({ flags, long, description }) => ({ word: flags, key: long ?? '', about: description })),
  ].filter(({ key }) => !isStoodFor(key));
  if (names.length === 0) return [];
  const lines = names.map(({ word, about }) => `\n  ${word}: ${about}`).join('');
  const [example] = partsOf(command)?.examples ?? [];
  return [
    {
      what: `${names.length === 1 ? 'A word is missing' : `${names.length} words are missing`}: ${names.map(({ word }) => word.replace(/ <.*/, '').replace(/^-\w, /, '')).join(', ')}.`,
      todo: `Give what is missing.${lines}\nFor example:\n  ${example}`,
    },
  ];
}

/** One error of all problems; advice that several share is given once. */
function toError(problems: readonly Problem[]): UsageError {
  const todos = new Set(problems.map(({ todo }) => todo));
  return new UsageError(problems.map(({ what }) => what).join('\n'), [...todos].join('\n'));
}
