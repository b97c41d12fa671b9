import { unforeseen } from '../../core/model/tool-error.ts';
import { visibleLines } from '../../core/text/visible.ts';
import { errorDocument, toolErrorOf } from '../../render/json/to-json.ts';
import { renderFailure } from '../../render/text/render-findings.ts';
import { exitCodeOfError, exitCodes, UsageError } from './exit-codes.ts';
import { lookOf, sayDocument, showsStacks } from './screen.ts';

/** Says why there is no answer and what to do, on stderr, and with --json as a document on stdout. */
export async function reportFailure(error: unknown, json: boolean): Promise<number> {
  const { exitCode, ...failure } = describe(error);
  if (json) await sayDocument(errorDocument(failure, exitCode));
  else process.stderr.write(renderFailure(failure, lookOf(process.stderr, process.env)));
  if (exitCode === exitCodes.bug) showBug(error);
  else if (showsStacks() && error instanceof Error) process.stderr.write(stackOf(error));
  return exitCode;
}

function describe(error: unknown) {
  if (error instanceof UsageError) {
    return { exitCode: exitCodes.usage, code: 'usage', subject: '', message: error.message, todo: error.todo };
  }
  const message = error instanceof Error ? error.message : String(error);
  if (message.startsWith('interrupted by')) {
    const todo = 'Nothing is lost: run the same command again.';
    return {
      exitCode: exitCodes.interrupted,
      code: 'interrupted',
      subject: '',
      message: 'Stopped before it was done.',
      todo,
    };
  }
  const failure = unforeseen(error, '');
  return { exitCode: exitCodeOfError(failure), ...toolErrorOf(failure) };
}

const stackOf = (error: Error): string =>
  `${visibleLines(error.stack ?? error.message)}\n${error.cause instanceof Error ? stackOf(error.cause) : ''}`;

/** The stack of a bug, also of one that a stick kept to itself, for who asked to see it; nothing else is shown. */
export function showBug(error: unknown): void {
  const failure = error === undefined ? undefined : unforeseen(error, '');
  if (failure?.code !== 'bug') return;
  if (!showsStacks()) {
    process.stderr.write('  The same command with --debug shows where in the code.\n');
    return;
  }
  const bug = failure.cause;
  process.stderr.write(`${visibleLines(bug instanceof Error ? (bug.stack ?? bug.message) : String(bug))}\n`);
}
