import { type Command, CommanderError } from '@commander-js/extra-typings';
import { makeProgram, shortHelp } from './commands.ts';
import { exitCodes, UsageError } from './frame/exit-codes.ts';
import { wasCutOff } from './frame/interruption.ts';
import { isInteractive, lostOutput, outputSettled, say, watchOutput } from './frame/screen.ts';

/** Runs one command line, given without the program's name; returns the exit code. Never throws. */
export async function main(words: readonly string[]): Promise<number> {
  watchOutput();
  const exitCode = await run(words);
  await outputSettled();
  if (wasCutOff()) process.exit(exitCode);
  return told(exitCode);
}

const answers: ReadonlySet<number> = new Set([exitCodes.ready, exitCodes['not-ready'], exitCodes.unproven]);

/**
 * A verdict that nobody could read is no answer. What stopped the run, or was wrong with its words, counts more: a
 * script that goes by the code alone is not misled.
 */
function told(exitCode: number): number {
  const unread = lostOutput();
  if (unread === undefined || !answers.has(exitCode)) return exitCode;
  process.stderr.write(
    `\nNo answer [system/failed]\n  The answer could not be written: ${unread.message}. What was asked for was done all the same.\n` +
      '  Free some space, or look where the output goes; then ask what is true now: stickwright verify\n',
  );
  return exitCodes.toolError;
}

/** At a terminal the bare command says what there is, and `prepare` with nothing to prepare is led through. */
function meant(words: readonly string[]): readonly string[] {
  const bare = words.length === 0 ? 'next' : words.length === 1 && words[0] === 'prepare' ? 'guide' : undefined;
  return bare !== undefined && isInteractive() ? [bare] : words;
}

async function run(typed: readonly string[]): Promise<number> {
  const words = meant(typed);
  let exitCode: number = exitCodes.ready;
  const program = await makeProgram(words, async (command, handed) => {
    const { runCommand } = await import('./frame/run-command.ts');
    exitCode = await runCommand(command, handed);
  });
  overrideExit(program);
  try {
    if (words.length === 0) {
      await say(shortHelp);
      return exitCodes.ready;
    }
    if (!asksForHelp(words)) {
      const { checkWords } = await import('./frame/wrong-words.ts');
      checkWords(program, words);
    }
    await program.parseAsync([...words], { from: 'user' });
    return exitCode;
  } catch (error) {
    if (error instanceof CommanderError && (error.exitCode === 0 || error.code === 'commander.help'))
      return error.exitCode === 0 ? exitCodes.ready : exitCodes.usage;
    // Loaded only now: it knows the whole catalogue, and most runs need none of it.
    const { reportFailure } = await import('./frame/report-failure.ts');
    return await reportFailure(
      inOurWords(error),
      ['--json', '-j'].some((word) => words.includes(word)),
    );
  }
}

const asksForHelp = (words: readonly string[]): boolean => words.some((word) => word === '-h' || word === '--help');

/** What commander says of a word that it does not take, such as a choice that is none. */
const inOurWords = (error: unknown): unknown =>
  error instanceof CommanderError
    ? new UsageError(error.message.replace(/^error: /, ''), 'What it takes is shown by --help.')
    : error;

/** Wrong words must not end the process, and are said in one place: also those of commands inside commands. */
function overrideExit(command: Command): void {
  command.exitOverride().configureOutput({ outputError: () => {} });
  for (const inner of command.commands) overrideExit(inner as Command);
}
