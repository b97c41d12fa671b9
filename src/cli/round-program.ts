import { type Command, Option } from '@commander-js/extra-typings';
import { leftoverPolicies, modes } from '../core/model/mode.ts';
import { keepYoungHeapSmall } from './keep-heap-small.ts';
import { addRoundCardsCommand } from './round-cards-program.ts';
import { addRoundRecordCommands } from './round-record-program.ts';
import { accept, because, collect, examples, exitCodesHelp, family, json, shelf, signer } from './words.ts';

/** `--round`, as every command of the round takes it. */
export const round = () =>
  new Option('--round <dir>', 'folder of the round (default: STICKWRIGHT_ROUND, or the only *.round here)');

/** The words of `stickwright round …`. */
export function addRoundCommands(program: Command, done: (exitCode: number) => void): void {
  const desk = program
    .command('round')
    .description(
      'From a room list: what each room needs, the fewest sticks for it, cards and tags to print, and the record of what was done.',
    )
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright round plan rooms.csv --mode in-os --sticks 4',
        'stickwright round prepare',
        'stickwright round cards --pdf',
        'stickwright round record "Room 2.14" --build reed.1717',
        'stickwright round status',
      )}${exitCodesHelp}`,
    );
  addPlanCommand(desk as unknown as Command, done);
  addPrepareCommand(desk as unknown as Command, done);
  addRoundCardsCommand(desk as unknown as Command, done);
  addRoundRecordCommands(desk as unknown as Command, done);
}

function addPlanCommand(desk: Command, done: (exitCode: number) => void): void {
  desk
    .command('plan')
    .summary('say what each room needs, and in which order the sticks go round')
    .description(
      'Reads a room list, finds for each room its package on the shelf and the way there, makes the fewest loads of it, and orders the sticks. Keeps the plan in the folder of the round.',
    )
    .argument('<list>', 'the room list: CSV or a spreadsheet')
    .addOption(
      new Option('--mode <mode>', 'for rooms that the list asks no mode for; recovery WIPES')
        .choices(modes)
        .default('in-os' as const),
    )
    .addOption(
      new Option('--columns <field=heading>', 'which heading means what; may be given several times, and is remembered')
        .argParser(collect)
        .default([] as readonly string[], 'found by their headings'),
    )
    .option('--sheet <name>', 'sheet of a workbook (default: the first that is not hidden)')
    .option('--sticks <n>', 'how many sticks go round (default: one for each load)')
    .option('--minutes <n>', 'minutes at a panel (default: as the family file says, or what is usual)')
    .option('--prepare-minutes <n>', 'minutes to prepare a stick (default: by the size of the package)')
    .addOption(shelf())
    .addOption(family())
    .addOption(new Option('--round <dir>', 'folder of the round (default: STICKWRIGHT_ROUND, or beside the list)'))
    .option('--dry-run', 'show the plan and keep nothing')
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright round plan rooms.csv',
        'stickwright round plan rooms.xlsx --columns "room=Raum,label=Typenschild" --sticks 4 --minutes 30',
        'stickwright round plan rooms.csv --mode recovery --dry-run',
      )}${exitCodesHelp}`,
    )
    .action(async (list, options) =>
      done(await (await import('./commands/round-plan.ts')).runRoundPlan(list, options)),
    );
}

function addPrepareCommand(desk: Command, done: (exitCode: number) => void): void {
  desk
    .command('prepare')
    .summary('prepare stick after stick from the kept plan')
    .description(
      'Says which stick comes next and what to write on its tag, prepares it with every check, and records it. Goes on where it stopped.',
    )
    .addOption(
      new Option('--stick <target>', 'folder, drive letter, image file or device; several are taken in turn')
        .argParser(collect)
        .default([] as readonly string[], 'wait for each to be plugged in'),
    )
    .addOption(
      new Option('--load <letter>', 'only this load; may be given several times')
        .argParser(collect)
        .default([] as readonly string[], 'all'),
    )
    .addOption(
      new Option('--leftovers <what>', 'what to do with things on a stick that would confuse a panel')
        .choices(leftoverPolicies)
        .default('stop' as const),
    )
    .addOption(shelf())
    .addOption(family())
    .addOption(signer())
    .addOption(round())
    .option('--who <name>', 'who is at this desk (default: STICKWRIGHT_WHO, or your login)')
    .option('--dry-run', 'say what would be prepared; write nothing')
    .option('--yes', 'agree in advance, also to a target that is not a removable drive')
    .addOption(accept())
    .addOption(because('manifest'))
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright round prepare',
        'stickwright round prepare --stick E: --load B',
        'stickwright round prepare --stick one.img --stick two.img --yes',
      )}${exitCodesHelp}`,
    )
    .action(async (options) => {
      keepYoungHeapSmall();
      done(await (await import('./commands/round-prepare.ts')).runRoundPrepare(options));
    });
}
