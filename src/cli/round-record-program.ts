import { type Command, Option } from '@commander-js/extra-typings';
import { accept, because, examples, json } from './words.ts';

const round = () =>
  new Option('--round <dir>', 'folder of the round (default: STICKWRIGHT_ROUND, or the only *.round here)');
const who = () => new Option('--who <name>', 'who did it (default: STICKWRIGHT_WHO, or your login)');
const label = () => new Option('--label <text>', "the label on the panel's back, where a room has several panels");
const serial = () => new Option('--serial <text>', "the panel's serial, where a room has several panels");

const codes = (ready: string, notReady?: string, unproven?: string): string => {
  const own = [`0 ${ready}`, ...(notReady ? [`1 ${notReady}`] : []), ...(unproven ? [`4 ${unproven}`] : [])];
  return `\nExit codes: ${own.join(', ')};\n  2 wrong words, 3 no answer, 70 fault of the tool, 130 or 143 stopped.\n`;
};

/** The words of `round record`, `merge`, `status`, `ladder` and `export`. */
export function addRoundRecordCommands(desk: Command, done: (exitCode: number) => void): void {
  addRecordCommand(desk, done);
  addReadingCommands(desk, done);
  addExportCommand(desk, done);
}

function addRecordCommand(desk: Command, done: (exitCode: number) => void): void {
  desk
    .command('record')
    .summary('note what was done in a room')
    .description(
      'Notes one visit, an approval, or a filled-in list. Without an outcome it asks. Lines are added and flushed, never changed; a failed room gets the next step.',
    )
    .argument('[room]', 'room, asset tag, serial, or the scanned code of a card')
    .option('--build <build>', 'done: the build on the About page now')
    .option('--failed <text>', 'it failed: the exact words on the screen')
    .option('--skipped <text>', 'nothing was done: why')
    .option('--approved-by <name>', 'who approved that this panel is wiped')
    .option('--stick <code>', 'code on the tag of the stick')
    .option('--before <build>', 'the build on the About page before')
    .option('--at <time>', 'when: 07:40 for today, 2026-11-03 07:40, or RFC 3339 (default: now)')
    .option('--note <text>', 'anything else worth keeping')
    .option('--wiped', 'the panel was wiped (default: as the mode has it)')
    .option('--not-wiped', 'the panel kept its data, although the mode wipes')
    .option('--from <file>', 'take the rows of a filled-in list: that of round export, or one with usual headings')
    .option('--withdraw <id>', 'an earlier line was wrong and does not count; needs --because')
    .addOption(label())
    .addOption(serial())
    .addOption(who())
    .addOption(round())
    .addOption(accept())
    .addOption(because('record'))
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright round record "Room 2.14" --build reed.1717 --stick CLY-FTJ',
        'stickwright round record QSA-10214 --failed "No update file found" --at 07:40',
        'stickwright round record 2.15 --skipped "exam until noon"',
        'stickwright round record Library --approved-by "D. Harrow"',
        'stickwright round record --from monday.csv --who Ada',
        'stickwright round record --withdraw 0f4b1a52 --because "wrong room"',
      )}${codes('recorded', 'not recorded, or not all', 'recorded, and something is not clear')}`,
    )
    .action(async (room, options) =>
      done(await (await import('./commands/round-record.ts')).runRoundRecord(room, options)),
    );
}

function addReadingCommands(desk: Command, done: (exitCode: number) => void): void {
  desk
    .command('merge')
    .summary('take in the records of other technicians')
    .description(
      'Takes in every line that this round does not have, in any order, as often as you like. Changes nothing else.',
    )
    .argument('<folder-or-file...>', "other copies of the round's folder, or files of records")
    .addOption(round())
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright round merge /media/stick/north.round')}${codes('merged')}`)
    .action(async (sources, options) =>
      done(await (await import('./commands/round-merge.ts')).runRoundMerge(sources, options)),
    );

  desk
    .command('status')
    .summary('say what is done, open, failed and wiped')
    .description('Shows the round as its records have it: rooms, sticks, and what fails more than once.')
    .addOption(round())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright round status', 'stickwright round status --json')}${codes('every room to update is done', 'rooms are left', 'all done, but not all of it is proven')}`,
    )
    .action(async (options) => done(await (await import('./commands/round-status.ts')).runRoundStatus(options)));

  desk
    .command('ladder')
    .summary('say the next step for a room that failed')
    .description(
      'The next step of the failure ladder with the facts filled in, and after two tries the message to the maker.',
    )
    .argument('<room>', 'room, asset tag, serial, or the scanned code of a card')
    .addOption(label())
    .addOption(serial())
    .addOption(round())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright round ladder "Room 2.14"')}${codes('answered', 'no such room', 'something about the room is not clear')}`,
    )
    .action(async (room, options) =>
      done(await (await import('./commands/round-ladder.ts')).runRoundLadder(room, options)),
    );
}

function addExportCommand(desk: Command, done: (exitCode: number) => void): void {
  desk
    .command('export')
    .summary('give the room list back with what was done, and a report to print')
    .description(
      'Writes the list in its own columns, order, delimiter and encoding: the running build where it is done, and outcome, build after, time, who, stick and words at the right. A workbook comes back as CSV.',
    )
    .option('--csv <file>', 'the list as CSV; - for standard output')
    .option('--report <file>', 'a report to print: HTML, A4')
    .option('--overwrite', 'replace files that are there')
    .addOption(round())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright round export --csv done.csv --report report.html',
        'stickwright round export --csv - | column -s, -t',
      )}${codes('written', undefined, 'written, but the family files are missing')}`,
    )
    .action(async (options) => done(await (await import('./commands/round-export.ts')).runRoundExport(options)));
}
