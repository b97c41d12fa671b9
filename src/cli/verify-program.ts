import { type Command, Option } from '@commander-js/extra-typings';
import { modes } from '../core/model/mode.ts';
import { examples, exitCodesHelp, json } from './words.ts';

/** Words that only a stick which came back has use for. */
const back = { returned: true };

/** The words of `stickwright verify`. */
export function addVerifyCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('verify')
    .description(
      'Compares a stick with its manifest, from names and sizes to all content. Needs nothing but the stick.',
    )
    .argument('<target>', 'mounted folder, drive letter, image file or device')
    .option('--label <text>', 'the label of the panel it is about to go to')
    .addOption(
      new Option('--mode <mode>', 'what you are about to do; a stick prepared for the other mode is stopped').choices(
        modes,
      ),
    )
    .option('--quick', 'names and sizes only; the answer is at best unproven')
    .option('--seal-from <file>', 'take only sticks sealed by the desk with this public key')
    .option('--replugged', 'you pulled the stick and plugged it in again since it was written')
    .option('--returned', 'it came back from a panel: say what was left on it, and whether it was changed')
    .addOption(
      new Option('--clear', 'show what of a returned stick would go, ask, and clear it for its next job').implies(back),
    )
    .addOption(new Option('--keep-left <dir>', 'copy what a panel left to a folder at the desk first').implies(back))
    .addOption(
      new Option('--yes', 'agree in advance to the clearing, also of what is no removable drive').implies(back),
    )
    .addOption(new Option('--round <dir>', 'note it in this round (default: STICKWRIGHT_ROUND)').implies(back))
    .addOption(new Option('--who <name>', 'whose name stands in the note (default: STICKWRIGHT_WHO)').implies(back))
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright verify /media/stick --label "K2-second 75/5B" --mode recovery',
        'stickwright verify E: --quick',
        'stickwright verify E: --returned',
        'stickwright verify E: --returned --clear --keep-left "logs of Room 2.14"',
      )}${exitCodesHelp}`,
    )
    .action(async (target, options) => {
      if (options.returned)
        done(await (await import('./commands/verify-returned.ts')).runVerifyReturned(target, options));
      else done(await (await import('./commands/verify.ts')).runVerify(target, options));
    });
}
