import { Command } from '@commander-js/extra-typings';
import { toolVersion } from './tool-version.ts';
import { examples, exitCodesHelp } from './words.ts';

type AddCommand = (program: Command, done: (exitCode: number) => void) => void;

/** In the order of the help. What a command takes is loaded when it is named: the help of all needs none of it. */
const commands: readonly {
  readonly name: string;
  readonly summary: string;
  readonly load: () => Promise<AddCommand>;
}[] = [
  {
    name: 'inspect',
    summary: 'say all that can be said about a firmware archive',
    load: async () => (await import('./inspect-program.ts')).addInspectCommand,
  },
  {
    name: 'label',
    summary: 'read a label',
    load: async () => (await import('./label-program.ts')).addLabelCommand,
  },
  {
    name: 'prepare',
    summary: 'lay out a stick for one kind of panel',
    load: async () => (await import('./prepare-program.ts')).addPrepareCommand,
  },
  {
    name: 'verify',
    summary: 'check a prepared stick before the walk',
    load: async () => (await import('./verify-program.ts')).addVerifyCommand,
  },
  {
    name: 'shelf',
    summary: "keep packages, and find the one for a panel's label",
    load: async () => (await import('./shelf-program.ts')).addShelfCommands,
  },
  {
    name: 'compare',
    summary: 'say whether a package is newer than what a panel runs',
    load: async () => (await import('./shelf-program.ts')).addCompareCommand,
  },
  {
    name: 'round',
    summary: 'plan a round through many rooms, and keep what was done',
    load: async () => (await import('./round-program.ts')).addRoundCommands,
  },
  {
    name: 'family',
    summary: 'make, check and look at panel families',
    load: async () => (await import('./family-program.ts')).addFamilyCommands,
  },
  {
    name: 'seal',
    summary: 'let sticks prove that this desk prepared them',
    load: async () => (await import('./seal-program.ts')).addSealCommands,
  },
  {
    name: 'format',
    summary: 'erase a stick or an image and make it right for a panel',
    load: async () => (await import('./format-program.ts')).addFormatCommand,
  },
  {
    name: 'prove',
    summary: 'say whether a stick holds what it says',
    load: async () => (await import('./prove-program.ts')).addProveCommand,
  },
  {
    name: 'drives',
    summary: 'list the sticks that are plugged in',
    load: async () => (await import('./drives-program.ts')).addDrivesCommand,
  },
  {
    name: 'explain',
    summary: 'say what a code means',
    load: async () => (await import('./explain-program.ts')).addExplainCommand,
  },
];

/** All commands, with the words of those that WORDS name. `done` hears the exit code. */
export async function makeProgram(words: readonly string[], done: (exitCode: number) => void): Promise<Command> {
  const program = new Command('stickwright')
    .description('Prepares USB sticks that update wall-mounted interactive panels, and verifies them before the walk.')
    .version(toolVersion, '-V, --version')
    .showSuggestionAfterError()
    .showHelpAfterError('(stickwright --help shows all commands)')
    .configureHelp({ subcommandTerm: (command) => command.name() })
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright inspect reed.1717_5B_second_K2.zip --label "K2-second 75/5B"',
        'stickwright prepare reed.1717_5B_second_K2.zip --mode recovery --label "K2-second 75/5B" --stick /media/stick --dry-run',
        'stickwright verify /media/stick --label "K2-second 75/5B"',
      )}${exitCodesHelp}`,
    ) as unknown as Command;
  for (const { name, summary, load } of commands) {
    if (words.includes(name)) (await load())(program, done);
    else program.command(name);
    program.commands.at(-1)?.summary(summary);
  }
  return program;
}
