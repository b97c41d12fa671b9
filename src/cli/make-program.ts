import { Command, Option } from '@commander-js/extra-typings';
import { leftoverPolicies } from '../core/model/leftover-policy.ts';
import { modes } from '../core/model/mode.ts';
import { addFamilyCommands } from './family-program.ts';
import { addRoundCommands } from './round-program.ts';
import { addSealCommands } from './seal-program.ts';
import { addCompareCommand, addShelfCommands } from './shelf-program.ts';
import { toolVersion } from './tool-version.ts';
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

/** Words that only a stick which came back has use for. */
const back = { returned: true };

/** All commands and their words. Each loads its own code only when it is used. `done` hears the exit code. */
export function makeProgram(done: (exitCode: number) => void) {
  const program = new Command('stickwright')
    .description('Prepares USB sticks that update wall-mounted interactive panels, and verifies them before the walk.')
    .version(toolVersion, '-V, --version')
    .showSuggestionAfterError()
    .showHelpAfterError('(stickwright --help shows all commands)')
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright inspect TSC4-2_K2_20260914.zip --label "TS75C4-2 K2"',
        'stickwright prepare TSC4-2_K2_20260914.zip --mode recovery --label "TS75C4-2 K2" --stick /media/stick --dry-run',
        'stickwright verify /media/stick --label "TS75C4-2 K2"',
      )}${exitCodesHelp}`,
    );

  program
    .command('inspect')
    .summary('say all that can be said about a firmware archive')
    .description('Reads the whole archive once and says what it is, whether it is sound, and whether it fits a label.')
    .argument('<archive>', 'the downloaded firmware archive')
    .option('--label <text>', "the label on the panel's back, as it is printed")
    .addOption(family())
    .addOption(signer())
    .addOption(expected('sha256'))
    .addOption(expected('sha512'))
    .addOption(expected('sha1'))
    .addOption(expected('md5'))
    .addOption(expectedBytes())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright inspect TSC4-2_K2_20260914.zip --label "TS75C4-2 K2" --family families/')}${exitCodesHelp}`,
    )
    .action(async (archive, options) =>
      done(await (await import('./commands/inspect.ts')).runInspect(archive, options)),
    );

  program
    .command('label')
    .summary('read a label')
    .description("Says what the families make of a panel's label.")
    .argument('[text]', "the label, as it is printed; or the whole plate's text with its line breaks")
    .option('--again <text>', 'the same label, as a second person typed it')
    .option('--list <file>', 'a list of labels, one a line; - for standard input')
    .addOption(family())
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright label "TS75C4-2 K2" --family families/')}${exitCodesHelp}`)
    .action(async (text, options) => done(await (await import('./commands/label.ts')).runLabel(text, options)));

  program
    .command('prepare')
    .summary('lay out a stick for one kind of panel')
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
        'stickwright prepare TSC4-2_K2_20260914.zip --mode in-os --label "TS75C4-2 K2" --stick E: --dry-run',
        'stickwright prepare TSC4-2_K2_20260914.zip --mode recovery --label "TS75C4-2 K2" --stick /media/stick',
        'stickwright prepare --from-shelf --mode in-os --label "TS75C4-2 K2" --running 20240117 --stick /media/stick',
      )}${exitCodesHelp}`,
    )
    .action(async (archive, options) => {
      done(await (await import('./commands/prepare.ts')).runPrepare(archive, options));
      if (options.eject) await (await import('./eject-targets.ts')).ejectTargets(options.stick);
    });

  program
    .command('verify')
    .summary('check a prepared stick before the walk')
    .description(
      'Compares a stick with its manifest, from names and sizes to all content. Needs nothing but the stick.',
    )
    .argument('<target>', 'mounted folder, drive letter, image file or device')
    .option('--label <text>', 'the label of the panel it is about to go to')
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
        'stickwright verify /media/stick --label "TS75C4-2 K2"',
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

  addShelfCommands(program as unknown as Command, done);
  addCompareCommand(program as unknown as Command, done);
  addRoundCommands(program as unknown as Command, done);
  addFamilyCommands(program as unknown as Command, done);
  addSealCommands(program as unknown as Command, done);

  program
    .command('format')
    .summary('erase a stick or an image and make it right for a panel')
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
        'stickwright format /dev/sdb --for recovery --family families/slate.yaml --volume-label PANEL',
        'stickwright format stick.img --for recovery --size 16GB',
      )}${exitCodesHelp}`,
    )
    .action(async (target, options) => {
      done(await (await import('./commands/format.ts')).runFormat(target, options));
      if (options.eject) await (await import('./eject-targets.ts')).ejectTargets([target]);
    });

  program
    .command('prove')
    .summary('say whether a stick holds what it says')
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

  program
    .command('drives')
    .summary('list the sticks that are plugged in')
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
      `\n${examples('stickwright drives', 'stickwright drives --all', 'stickwright drives --watch --family families/slate.yaml')}${exitCodesHelp}`,
    )
    .action(async (options) => done(await (await import('./commands/drives.ts')).runDrives(options)));

  program
    .command('explain')
    .summary('say what a code means')
    .description('Explains one code, or lists all codes.')
    .argument('[code]', 'such as stick/dirty')
    .addHelpText('after', `\n${examples('stickwright explain', 'stickwright explain stick/dirty')}`)
    .action(async (code) => done(await (await import('./commands/explain.ts')).runExplain(code)));

  return program;
}
