import type { Command } from '@commander-js/extra-typings';
import { examples, exitCodesHelp } from './words.ts';

/** The words of `stickwright seal …`. */
export function addSealCommands(program: Command, done: (exitCode: number) => void): void {
  const seal = program
    .command('seal')
    .description(
      'With a key, every stick prepared here carries a seal; verify --seal-from takes only those. Without one anybody can write a manifest.',
    )
    .addHelpText(
      'after',
      `\n${examples('stickwright seal new', 'stickwright verify /media/stick --seal-from desk.pub')}${exitCodesHelp}`,
    );

  seal
    .command('new')
    .summary("make the desk's key")
    .description('Makes an Ed25519 key in your own folder, or where STICKWRIGHT_SEAL_KEY says. Never overwrites one.')
    .addHelpText('after', `\n${examples('stickwright seal new')}${exitCodesHelp}`)
    .action(async () => done(await (await import('./commands/seal.ts')).runSealNew()));

  seal
    .command('show')
    .summary('say which key this desk has')
    .description('Names the key and its files.')
    .addHelpText('after', `\n${examples('stickwright seal show')}${exitCodesHelp}`)
    .action(async () => done(await (await import('./commands/seal.ts')).runSealShow()));
}
