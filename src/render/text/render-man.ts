import { visible } from '../../core/text/visible.ts';

/** A command as its help says it. */
export interface CommandInHelp {
  /** `shelf add`; empty for all of it. */
  readonly name: string;
  readonly usage: string;
  readonly description: string;
  readonly terms: readonly { readonly term: string; readonly says: string }[];
  readonly examples: readonly string[];
}

interface Manual {
  readonly version: string;
  /** `2026-11-28`. */
  readonly day: string;
  readonly commands: readonly CommandInHelp[];
  readonly exitCodes: readonly (readonly [code: string, meaning: string])[];
  readonly variables: readonly (readonly [name: string, what: string])[];
}

/** Text in a man page: no dot or quotation mark at the start of a line acts, a hyphen can be copied (man-pages(7)). */
const roff = (text: string): string =>
  visible(text).replaceAll('\\', '\\e').replaceAll('-', '\\-').replace(/^[.']/, '\\&$&');

const bold = (text: string): string => `.B ${roff(text).replaceAll('"', '\\(dq')}`;

/** The manual page, section 1, made of the help of every command, in the macros of man(7). */
export function renderMan({ version, day, commands, exitCodes, variables }: Manual): string {
  const [whole, ...others] = commands;
  return [
    `.TH STICKWRIGHT 1 ${visible(day)} "stickwright ${visible(version)}" "User Commands"`,
    '.SH NAME',
    'stickwright \\- prepares USB sticks that update wall\\-mounted interactive panels',
    '.SH SYNOPSIS',
    bold(`stickwright ${whole?.usage ?? ''}`.trim()),
    '.SH DESCRIPTION',
    roff(whole?.description ?? ''),
    '.SH EXAMPLES',
    ...(whole?.examples ?? []).flatMap(example),
    '.SH COMMANDS',
    ...others.flatMap(({ name, usage, description, terms, examples }) => [
      `.SS "stickwright ${roff(name)}"`,
      bold(`stickwright ${name} ${usage}`.trim()),
      '.PP',
      roff(description),
      ...terms.flatMap(({ term, says }) => ['.TP', bold(term), roff(says)]),
      ...(examples.length === 0 ? [] : ['.PP', 'For example:', ...examples.flatMap(example)]),
    ]),
    '.SH "EXIT STATUS"',
    ...exitCodes.flatMap(([code, meaning]) => ['.TP', bold(code), roff(meaning)]),
    '.SH ENVIRONMENT',
    ...variables.flatMap(([name, what]) => ['.TP', bold(name), roff(what)]),
    '',
  ].join('\n');
}

const example = (line: string): readonly string[] => ['.PP', '.RS 4', '.nf', roff(line), '.fi', '.RE'];
