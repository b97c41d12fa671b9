import { type Command, Option } from '@commander-js/extra-typings';
import { collect, examples, exitCodesHelp, json } from './words.ts';

/** The words of `stickwright drives`. */
export function addDrivesCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('drives')
    .description('Lists removable USB drives with their volumes, and for each mode whether they would do.')
    .option('--all', 'also the others, with why they are refused')
    .option('--watch', 'go on and tell what is plugged in and pulled, until Ctrl-C; with --json one document a line')
    .addOption(
      new Option('--family <file-or-dir>', "judge by these families' rules; may be given several times")
        .argParser(collect)
        .default([] as readonly string[], 'what panels usually take'),
    )
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright drives', 'stickwright drives --all', 'stickwright drives --watch --family families/sedge.yaml')}${exitCodesHelp}`,
    )
    .action(async (options) => done(await (await import('./commands/drives.ts')).runDrives(options)));
}
