import { ToolError } from '../../core/model/tool-error.ts';
import { openRegularFile } from '../files/regular-file.ts';

/** A list of some thousand rooms is below 1 MB. */
export const mostListBytes = 32_000_000;

/** The bytes of a list; undefined where there are more than `mostListBytes`. Throws `file/not-found`, `file/not-permitted`, `file/unreadable`. */
export async function readListFile(path: string): Promise<Buffer | undefined> {
  try {
    const file = await openRegularFile(path);
    try {
      const { size } = await file.stat();
      return size > mostListBytes ? undefined : await file.readFile();
    } finally {
      await file.close();
    }
  } catch (cause) {
    if (cause instanceof ToolError) throw cause;
    const code = cause instanceof Error && 'code' in cause ? cause.code : undefined;
    if (code === 'ENOENT' || code === 'ENOTDIR') {
      throw new ToolError(
        'file/not-found',
        path,
        `There is no room list ${path}.`,
        'Check the name and the folder.',
        cause,
      );
    }
    if (code === 'EACCES' || code === 'EPERM') {
      const todo = 'Ask for the right to read it.';
      throw new ToolError('file/not-permitted', path, `You may not read ${path}.`, todo, cause);
    }
    const todo = 'Close the program that has it open, and check the disk it lies on.';
    throw new ToolError('file/unreadable', path, `${path} cannot be read (${String(code)}).`, todo, cause);
  }
}
