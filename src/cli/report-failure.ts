import { ToolError } from '../core/model/tool-error.ts';
import { serialise } from '../render/json/serialise.ts';
import { errorDocument, toolErrorOf } from '../render/json/to-json.ts';
import { renderFailure } from '../render/text/render-failure.ts';
import { exitCodes } from './exit-codes.ts';
import { lookOf, say } from './screen.ts';
import { UsageError } from './usage-error.ts';

/** Says why there is no answer and what to do, on stderr, and with --json as a document on stdout. */
export async function reportFailure(error: unknown, json: boolean): Promise<number> {
  const { exitCode, ...failure } = describe(error);
  if (json) await say(serialise(errorDocument(failure, exitCode)));
  else process.stderr.write(renderFailure(failure, lookOf(process.stderr, process.env)));
  if (exitCode === exitCodes.bug) process.stderr.write(`${error instanceof Error ? error.stack : String(error)}\n`);
  return exitCode;
}

function describe(error: unknown) {
  if (error instanceof ToolError) return { exitCode: exitCodes.toolError, ...toolErrorOf(error) };
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
  const todo =
    'This is a fault of the tool. A stick that was being written says not ready; please report what follows.';
  return {
    exitCode: exitCodes.bug,
    code: 'bug',
    subject: '',
    message: `Something that cannot happen did: ${message}`,
    todo,
  };
}
