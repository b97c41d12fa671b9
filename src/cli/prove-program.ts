import { type Command, Option } from '@commander-js/extra-typings';
import { examples, exitCodesHelp, json } from './words.ts';

/** The words of `stickwright prove`. */
export function addProveCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('prove')
    .description(
      'Writes a pattern and reads it back: false capacity, bad and unstable places, true size, speed. Erases the whole stick, unless --free-space is given. Ctrl-C stops it; the same command goes on.',
    )
    .argument('<target>', 'removable USB drive as a whole, or an image file; with --free-space also a mounted folder')
    .addOption(
      new Option(
        '--free-space',
        'only the free part; no file is touched, but on a false stick files may already be lost',
      ).conflicts('sample'),
    )
    .option('--sample', 'a quick answer from some hundred places, which erases the stick too')
    .option('--drive-size <text>', "the drive's size, typed to say that this is the one to erase; for scripts")
    .option('--yes', 'agree in advance that an image file is erased')
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright prove /dev/sdb', 'stickwright prove /media/stick --free-space')}${exitCodesHelp}`,
    )
    .action(async (target, options) => done(await (await import('./commands/prove.ts')).runProve(target, options)));
}
