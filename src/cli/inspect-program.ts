import type { Command } from '@commander-js/extra-typings';
import { examples, exitCodesHelp, expected, expectedBytes, family, json, signer } from './words.ts';

/** The words of `stickwright inspect`. */
export function addInspectCommand(program: Command, done: (exitCode: number) => void): void {
  program
    .command('inspect')
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
      `\n${examples('stickwright inspect reed.1717_5B_second_K2.zip --label "K2-second 75/5B" --family families/')}${exitCodesHelp}`,
    )
    .action(async (archive, options) =>
      done(await (await import('./commands/inspect.ts')).runInspect(archive, options)),
    );
}
