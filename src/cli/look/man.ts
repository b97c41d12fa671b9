import type { Command } from '@commander-js/extra-typings';
import type { CommandInHelp } from '../../render/text/render-man.ts';
import { command } from '../frame/command.ts';
import { examplesIn, toolVersion } from '../words.ts';

/** Every command with its words, as they are listed where this one is listed too. */
let everything: () => Promise<Command>;

export function manOf(makeEverything: () => Promise<Command>) {
  everything = makeEverything;
  return man;
}

const man = command({
  words: (it) => it.description('Prints the manual page, made from the help of every command.'),
  examples: ['stickwright man | man -l -', 'stickwright man > ~/.local/share/man/man1/stickwright.1'],
  run: async () => {
    return { verdict: 'ready' as const, program: await everything() };
  },
  text: async ({ program }) => {
    const { renderMan } = await import('../../render/text/render-man.ts');
    const { settings } = await import('../../core/model/settings.ts');
    const fixed = process.env.SOURCE_DATE_EPOCH;
    const at = fixed !== undefined && /^\d{1,11}$/.test(fixed) ? new Date(Number(fixed) * 1000) : new Date();
    return renderMan({
      version: toolVersion,
      day: at.toISOString().slice(0, 10),
      commands: everyCommand(program, ''),
      exitCodes: [
        ['0', 'ready'],
        ['1', 'not ready: a finding stops it'],
        ['2', 'wrong words on the command line, or nobody there to agree'],
        ['3', 'no answer: a file, a stick or the machine failed'],
        ['4', 'unproven'],
        ['70', 'a fault of the tool itself'],
        ['130, 143', 'stopped by Ctrl-C or by a signal; the same command goes on'],
      ],
      variables: [
        ...settings.map(({ variable, what }) => [variable, what] as const),
        ['STICKWRIGHT_ROUND', 'folder of the round'],
        ['STICKWRIGHT_BROWSER', 'full path of the browser that prints cards as PDF'],
        ['STICKWRIGHT_SEAL_KEY', "file of the desk's private key"],
        ['NO_COLOR, FORCE_COLOR', 'as no-color.org and force-color.org have it; --color beats both'],
        ['SOURCE_DATE_EPOCH', 'stands in for the clock'],
      ],
    });
  },
});

function everyCommand(it: Command, name: string): readonly CommandInHelp[] {
  const help = it.createHelp();
  const terms = [
    ...help.visibleArguments(it).map((one) => ({ term: `<${one.name()}>`, says: help.argumentDescription(one) })),
    ...help.visibleOptions(it).map((one) => ({ term: help.optionTerm(one), says: help.optionDescription(one) })),
  ];
  const whole = name === '' || it.commands.length > 0 ? '[options] <command>' : it.usage();
  const own = { name, usage: whole, description: it.description(), terms, examples: examplesIn(it) };
  const inner = it.commands.flatMap((one) => everyCommand(one as unknown as Command, `${name} ${one.name()}`.trim()));
  return [own, ...inner];
}
