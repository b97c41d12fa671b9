import type { Command } from '@commander-js/extra-typings';
import { examples, exitCodesHelp, family, json } from './words.ts';

/** The words of `stickwright family …`. */
export function addFamilyCommands(program: Command, done: (exitCode: number) => void): void {
  const families = program
    .command('family')
    .description('A family file says how the labels, package names and builds of one kind of panel are written.')
    .addHelpText(
      'after',
      `\n${examples('stickwright family new', 'stickwright family check families/', 'stickwright family show sedge')}${exitCodesHelp}`,
    );

  families
    .command('new')
    .summary('make a family file from examples')
    .description(
      'Asks for two or three labels and package names and what each part means, proposes the patterns, shows how they read every example, and writes the commented file.',
    )
    .option('--from <file>', 'take the examples from a YAML or JSON file instead of asking; - is stdin')
    .option('--to <folder>', 'where to write it (default: your own folder of families)')
    .option('--dry-run', 'show the file; write nothing')
    .option('--yes', 'agree in advance')
    .addOption(json())
    .addHelpText(
      'after',
      `\n${examples('stickwright family new', 'stickwright family new --from examples.yaml --to families/ --yes')}${exitCodesHelp}`,
    )
    .action(async (options) => done(await (await import('./commands/family-new.ts')).runFamilyNew(options)));

  families
    .command('check')
    .summary('check family files, each and all together')
    .description(
      'Runs every file: its shape with line and column, its examples, slow patterns, and what two families do to each other.',
    )
    .argument('[file-or-dir...]', 'files or folders (default: as for --family)')
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright family check families/')}${exitCodesHelp}`)
    .action(async (paths, options) =>
      done(await (await import('./commands/family.ts')).runFamilyCheck(paths, options)),
    );

  families
    .command('list')
    .summary('list the families')
    .description('Lists the families that this desk works with.')
    .addOption(family())
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright family list')}${exitCodesHelp}`)
    .action(async (options) => done(await (await import('./commands/family.ts')).runFamilyList(options)));

  families
    .command('show')
    .summary('show one family')
    .description('Shows what a family file says.')
    .argument('<name>', 'the short name of the family')
    .addOption(family())
    .addOption(json())
    .addHelpText('after', `\n${examples('stickwright family show sedge')}${exitCodesHelp}`)
    .action(async (name, options) => done(await (await import('./commands/family.ts')).runFamilyShow(name, options)));
}
