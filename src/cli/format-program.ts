import { type Command, Option } from '@commander-js/extra-typings';
import { modes } from '../core/model/mode.ts';
import { examples, exitCodesHelp, family, json } from './words.ts';

/** The words of `stickwright format`. */
export function addFormatCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('format')
    .description(
      'Erases a whole removable USB drive or an image file: MBR, one aligned partition, FAT32 of any size. Shows first what would be lost.',
    )
    .argument('<target>', 'removable USB drive as a whole, or an image file')
    .addOption(new Option('--for <mode>', 'how the panel will take it').choices(modes).makeOptionMandatory())
    .addOption(family())
    .option('--size <size>', 'make a new image file of this size, such as 16GB')
    .option('--volume-label <text>', 'name of the volume, at most 11 letters')
    .addOption(
      new Option('--file-system <name>', 'instead of what the panel takes best').choices([
        'fat32',
        'fat16',
        'exfat',
      ] as const),
    )
    .option('--cluster <bytes>', "cluster size instead of the published table's")
    .option('--drive-size <text>', "the drive's size, typed to say that this is the one to erase; for scripts")
    .option('--yes', 'agree in advance that an image file is erased')
    .option('--eject', 'when it is done, let go of the stick and say when it can be pulled')
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright format /dev/sdb --for recovery --family families/sedge.yaml --volume-label PANEL',
        'stickwright format stick.img --for recovery --size 16GB',
      )}${exitCodesHelp}`,
    )
    .action(async (target, options) => {
      done(await (await import('./commands/format.ts')).runFormat(target, options));
      if (options.eject) await (await import('./eject-targets.ts')).ejectTargets([target]);
    });
}
