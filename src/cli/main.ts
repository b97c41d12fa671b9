import { type Command, CommanderError } from '@commander-js/extra-typings';
import { exitCodes } from './exit-codes.ts';
import { makeProgram } from './make-program.ts';

/** Runs one command line, given without the program's name; returns the exit code. Never throws. */
export async function main(words: readonly string[]): Promise<number> {
  // A reader that went away (`| head`) ends it quietly, also where commander writes.
  process.stdout.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
  });
  let exitCode: number = exitCodes.ready;
  const program = await makeProgram(words, (code) => {
    exitCode = code;
  });
  overrideExit(program);
  try {
    if (words.length === 0) {
      program.outputHelp();
      return exitCodes.ready;
    }
    await program.parseAsync([...words], { from: 'user' });
    return exitCode;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? exitCodes.ready : exitCodes.usage;
    // Loaded only now: it knows the whole catalogue, and most runs need none of it.
    const { reportFailure } = await import('./report-failure.ts');
    return await reportFailure(error, words.includes('--json'));
  }
}

/** Wrong words must not end the process: also those of commands inside commands. */
function overrideExit(command: Command): void {
  command.exitOverride();
  for (const inner of command.commands) overrideExit(inner as Command);
}
