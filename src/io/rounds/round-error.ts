import { ToolError } from '../../core/model/tool-error.ts';
import { codeOf } from '../shelf/shelf-error.ts';

const again = 'Check the connection to the folder of the round and run the same command again; nothing was lost.';

/** What the operating system said while a round's folder was read or written, as a ToolError; a ToolError stays what it is. */
export function toRoundError(cause: unknown, doing: 'read' | 'write', path: string): unknown {
  const code = codeOf(cause);
  if (cause instanceof ToolError || code === undefined) return cause;
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') {
    const todo = 'Ask whoever owns the folder for the right to use it, or name another place with --round.';
    const verb = doing === 'read' ? 'read' : 'written';
    return new ToolError('file/not-permitted', path, `${path} may not be ${verb} (${code}).`, todo, cause);
  }
  if (doing === 'read') {
    return new ToolError('round/unreadable', path, `${path} cannot be read (${code}).`, again, cause);
  }
  const isFull = code === 'ENOSPC' || code === 'EDQUOT' || code === 'EFBIG';
  const message = isFull ? `There is no room left at ${path} (${code}).` : `${path} cannot be written (${code}).`;
  const todo = isFull ? 'Free some space there, then run the same command again.' : again;
  return new ToolError('round/write-failed', path, message, todo, cause);
}
