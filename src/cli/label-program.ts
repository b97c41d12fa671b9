import type { Command } from '@commander-js/extra-typings';
import { examples, exitCodesHelp, family, json } from './words.ts';

/** The words of `stickwright label`. */
export function addLabelCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('label')
    .description("Says what the families make of a panel's label.")
    .argument('[text]', "the label, as it is printed; or the whole plate's text with its line breaks")
    .option('--again <text>', 'the same label, as a second person typed it')
    .option('--list <file>', 'a list of labels, one a line; - for standard input')
    .addOption(family())
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright label "K2-second 75/5B" --family families/')}${exitCodesHelp}`)
    .action(async (text, options) => done(await (await import('./commands/label.ts')).runLabel(text, options)));
}
