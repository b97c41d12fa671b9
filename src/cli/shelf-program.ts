import type { Command } from '@commander-js/extra-typings';
import { accept, because, examples, exitCodesHelp, expected, family, json, shelf, signer } from './words.ts';

/** The words of `stickwright shelf …`. */
export function addShelfCommands(program: Command, done: (exitCode: number) => void): void {
  const desk = program
    .command('shelf')
    .description(
      "The desk's store of packages. Each is inspected when it is added; several desks may share one shelf in a shared folder.",
    )
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright shelf add reed.1717_5B_second_K2.zip --from https://support.example/sedge/',
        'stickwright shelf find --label "K2-second 75/5B" --running reed.746',
        'stickwright shelf check',
      )}${exitCodesHelp}`,
    );

  desk
    .command('add')
    .summary('inspect packages and keep them')
    .description('Reads each package once, keeps it if it is sound, and remembers what was found.')
    .argument('<archive...>', 'the downloaded firmware archives')
    .option('--from <address>', 'where they were downloaded; kept as text, never opened')
    .option('--note <file-or-text>', "the maker's release note: a text file, or the text itself")
    .addOption(shelf())
    .addOption(family())
    .addOption(signer())
    .addOption(expected('sha256'))
    .addOption(expected('sha512'))
    .addOption(expected('sha1'))
    .addOption(expected('md5'))
    .addOption(accept())
    .addOption(because('record'))
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright shelf add reed.1717_5B_second_K2.zip --from https://support.example/sedge/ --note note.txt')}${exitCodesHelp}`,
    )
    .action(async (archives, options) =>
      done(await (await import('./commands/shelf-add.ts')).runShelfAdd(archives, options)),
    );

  desk
    .command('list')
    .summary('list the packages')
    .description('Lists what lies on the shelf; with names, all that is known of those.')
    .argument('[package...]', 'file names, or the first eight or more digits of a SHA-256')
    .addOption(shelf())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright shelf list', 'stickwright shelf list reed.1717_5B_second_K2.zip')}${exitCodesHelp}`,
    )
    .action(async (words, options) => done(await (await import('./commands/shelf.ts')).runShelfList(words, options)));

  desk
    .command('find')
    .summary('find the newest package for exactly this label')
    .description('Says which package is the newest for a label, how to get there, and why others do not fit.')
    .requiredOption('--label <text>', "the label on the panel's back, as it is printed")
    .option('--running <build>', "the build on the panel's About page")
    .addOption(shelf())
    .addOption(family())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright shelf find --label "K2-second 75/5B" --running reed.746')}${exitCodesHelp}`,
    )
    .action(async (options) => done(await (await import('./commands/shelf.ts')).runShelfFind(options)));

  desk
    .command('check')
    .summary('read all packages again and find rot')
    .description('Reads every package again and compares it with its record; names what does not belong.')
    .argument('[package...]', 'only these')
    .addOption(shelf())
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright shelf check')}${exitCodesHelp}`)
    .action(async (words, options) => done(await (await import('./commands/shelf.ts')).runShelfCheck(words, options)));

  desk
    .command('remove')
    .summary('take packages off the shelf')
    .description('Deletes packages with their records, after asking. Nothing else is touched.')
    .argument('<package...>', 'file names, or the first eight or more digits of a SHA-256')
    .option('--yes', 'agree in advance')
    .addOption(shelf())
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright shelf remove reed.746_5B_second_K2.zip')}${exitCodesHelp}`)
    .action(async (words, options) => done(await (await import('./commands/shelf.ts')).runShelfRemove(words, options)));

  desk
    .command('export')
    .summary('copy packages out under their own names')
    .description('Copies packages into a folder and compares each copy with its record.')
    .argument('<package...>', 'file names, or the first eight or more digits of a SHA-256')
    .option('--to <folder>', 'where to', '.')
    .addOption(shelf())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright shelf export reed.1717_5B_second_K2.zip --to Desktop')}${exitCodesHelp}`,
    )
    .action(async (words, options) => done(await (await import('./commands/shelf.ts')).runShelfExport(words, options)));
}

/** The words of `stickwright compare`. */
export function addCompareCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('compare')
    .description(
      "Compares the build on a panel's About page with a package's, or with the newest on the shelf for a label, and names the builds in between that must not be skipped.",
    )
    .argument('<archive-or-label>', 'a package, or the label of a panel')
    .requiredOption('--running <build>', "the build on the panel's About page")
    .addOption(shelf())
    .addOption(family())
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples(
        'stickwright compare reed.1717_5B_second_K2.zip --running reed.746',
        'stickwright compare "K2-second 75/5B" --running reed.746',
      )}${exitCodesHelp}`,
    )
    .action(async (target, options) => done(await (await import('./commands/compare.ts')).runCompare(target, options)));
}
