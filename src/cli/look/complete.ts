import type { Command } from '@commander-js/extra-typings';
import type { CompletedCommand } from '../../io/programs/complete-words.ts';
import { command } from '../frame/command.ts';
import { UsageError } from '../frame/exit-codes.ts';

/** Every command with its words, as they are listed where this one is listed too. */
let everything: () => Promise<Command>;

export function completeOf(makeEverything: () => Promise<Command>) {
  everything = makeEverything;
  return complete;
}

const complete = command({
  words: (it) =>
    it
      .description(
        'Prints the script that completes words at a shell: bash, zsh, fish or powershell. The script asks this command for candidates.',
      )
      .argument('<shell-or-words...>', 'the shell; or -- and what was typed so far'),
  examples: [
    'stickwright complete bash > ~/.local/share/bash-completion/completions/stickwright',
    'stickwright complete zsh > ~/.zsh/completions/_stickwright',
    'stickwright complete fish > ~/.config/fish/completions/stickwright.fish',
    'stickwright complete powershell >> $PROFILE',
  ],
  withoutSettings: true,
  run: async (words) => {
    const { completionScript, completionsFor, shells } = await import('../../io/programs/complete-words.ts');
    const asks = process.argv[process.argv.indexOf('complete') + 1] === '--';
    if (asks) return { verdict: 'ready' as const, said: completionsFor(everyCommand(await everything(), ''), words) };
    const shell = shells.find((one) => one === words[0]);
    if (shell === undefined || words.length > 1)
      throw new UsageError(`There is no completion for ${words.join(' ')}.`, `There is one for ${shells.join(', ')}.`);
    return { verdict: 'ready' as const, said: completionScript(shell) };
  },
  text: async ({ said }) => said,
});

function everyCommand(it: Command, name: string): readonly CompletedCommand[] {
  const help = it.createHelp();
  const own = {
    name,
    description: it.summary() || it.description(),
    options: help.visibleOptions(it).flatMap(({ long, short, description, required, optional, argChoices = [] }) =>
      long == null
        ? []
        : [
            {
              long: long.slice(2),
              short: short?.slice(1),
              description,
              takesValue: required || optional,
              choices: argChoices,
            },
          ],
    ),
    arguments: it.registeredArguments.map((one) => ({
      name: one.name(),
      choices: one.argChoices ?? [],
      variadic: one.variadic,
    })),
  };
  return [
    own,
    ...it.commands.flatMap((one) => everyCommand(one as unknown as Command, `${name} ${one.name()}`.trim())),
  ];
}
