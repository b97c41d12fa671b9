import { type Command, Option } from '@commander-js/extra-typings';
import { leftoverPolicies, modes } from '../core/model/mode.ts';
import { keepYoungHeapSmall } from './keep-heap-small.ts';
import {
  accept,
  because,
  collect,
  examples,
  exitCodesHelp,
  expected,
  expectedBytes,
  family,
  json,
  shelf,
  signer,
} from './words.ts';

/** The words of `stickwright prepare`. */
export function addPrepareCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('prepare')
    .description('Checks label, archive and stick, shows exactly what would be written, writes it, and reads it back.')
    .argument('[archive]', 'the downloaded firmware archive; or --from-shelf')
    .addOption(
      new Option('--mode <mode>', 'how the panel takes it; recovery WIPES the panel')
        .choices(modes)
        .makeOptionMandatory(),
    )
    .requiredOption('--label <text>', "the label on the panel's back, as it is printed")
    .addOption(
      new Option(
        '--stick <target>',
        'mounted folder, drive letter, image file or device; several are possible; all: every USB stick',
      )
        .argParser(collect)
        .default([] as readonly string[])
        .makeOptionMandatory(),
    )
    .option('--image <file>', 'make an image file of the prepared stick instead')
    .option('--size <size>', 'of the image, such as 16GB; auto: as small as holds it')
    .option('--at <time>', 'the moment that the image tells, such as 2026-09-14T08:00:00Z: same input, same bytes')
    .option('--from-shelf', 'take the newest package for this label from the shelf')
    .option(
      '--running <build>',
      "the build on the panel's About page: says a downgrade or a bridge before it is written",
    )
    .addOption(shelf())
    .addOption(family())
    .addOption(signer())
    .addOption(expected('sha256'))
    .addOption(expected('sha512'))
    .addOption(expected('sha1'))
    .addOption(expected('md5'))
    .addOption(expectedBytes())
    .option('--dry-run', 'stop after the plan; write nothing')
    .option('--yes', 'agree in advance, also to a target that is not a removable drive')
    .addOption(
      new Option('--leftovers <what>', 'what to do with things on the stick that would confuse the panel')
        .choices(leftoverPolicies)
        .default('stop' as const),
    )
    .addOption(accept())
    .addOption(because('manifest'))
    .option('--eject', 'when it is done, let go of the stick and say when it can be pulled')
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright prepare reed.1717_5B_second_K2.zip --mode in-os --label "K2-second 75/5B" --stick E: --dry-run',
        'stickwright prepare reed.1717_5B_second_K2.zip --mode recovery --label "K2-second 75/5B" --stick /media/stick',
        'stickwright prepare --from-shelf --mode in-os --label "K2-second 75/5B" --running reed.746 --stick /media/stick',
      )}${exitCodesHelp}`,
    )
    .action(async (archive, options) => {
      keepYoungHeapSmall();
      done(await (await import('./commands/prepare.ts')).runPrepare(archive, options));
    });
}
