import type { Command } from '@commander-js/extra-typings';
import { examples, exitCodesHelp } from './words.ts';

/** The words of `stickwright round …`. */
export function addRoundCommands(program: Command, _done: (exitCode: number) => void): void {
  program
    .command('round')
    .summary('plan a round through many rooms, and keep what was done')
    .description(
      'From a room list: what each room needs, the fewest sticks for it, cards and tags to print, and the record of what was done.',
    )
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright round plan rooms.csv --mode in-os --sticks 4',
        'stickwright round prepare',
        'stickwright round cards --pdf',
        'stickwright round record "Room 2.14" --build 20260914',
        'stickwright round status',
      )}${exitCodesHelp}`,
    );
}
