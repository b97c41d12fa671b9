import type { Command } from '@commander-js/extra-typings';
import { examples } from './words.ts';

/** The words of `stickwright explain`. */
export function addExplainCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('explain')
    .description('Explains one code, or lists all codes.')
    .argument('[code]', 'such as stick/dirty')
    .addHelpText('after', `\n${examples('stickwright explain', 'stickwright explain stick/dirty')}`)
    .action(async (code) => done(await (await import('./commands/explain.ts')).runExplain(code)));
}
