import { ToolError } from '../../core/model/tool-error.ts';

const full =
  'Free some space where the shelf lies, or name another place with --shelf, then run the same command again.';
const again = 'Check the connection to the shelf and run the same command again; nothing on the shelf was changed.';

/** What the operating system said while the shelf was written or read, as a ToolError; a ToolError stays what it is. */
export function toShelfError(cause: unknown, doing: 'read' | 'write', path: string): unknown {
  if (cause instanceof ToolError || !isSystemError(cause)) return cause;
  const { code = '' } = cause;
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') {
    const todo = 'Ask whoever owns the folder for the right to use it, or name another place with --shelf.';
    return new ToolError('file/not-permitted', path, `${path} may not be ${verbs[doing]} (${code}).`, todo, cause);
  }
  if (doing === 'read') {
    if (code === 'ENOENT') {
      const todo = 'Another desk may have removed it meanwhile: stickwright shelf list.';
      return new ToolError('file/not-found', path, `There is no ${path}.`, todo, cause);
    }
    return new ToolError('file/unreadable', path, `${path} cannot be read (${code}).`, again, cause);
  }
  const isFull = code === 'ENOSPC' || code === 'EDQUOT' || code === 'EFBIG';
  const message = isFull ? `There is no room left at ${path} (${code}).` : `${path} cannot be written (${code}).`;
  return new ToolError('shelf/write-failed', path, message, isFull ? full : again, cause);
}

const verbs = { read: 'read', write: 'written' };

const isSystemError = (cause: unknown): cause is NodeJS.ErrnoException =>
  cause instanceof Error && 'code' in cause && typeof cause.code === 'string' && /^E[A-Z0-9]+$/.test(cause.code);

export const codeOf = (cause: unknown): string | undefined => (isSystemError(cause) ? cause.code : undefined);
