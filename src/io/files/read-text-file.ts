import { ToolError } from '../../core/model/tool-error.ts';
import { readRegularFile } from './regular-file.ts';

/** Whatever a person types or copies has less. */
const mostBytes = 16 * 2 ** 20;

/** A small text file that a person named, as UTF-8. Throws ToolError `file/not-found`, `file/not-permitted`, `file/unreadable`. */
export async function readTextFile(path: string): Promise<string> {
  try {
    return (await readRegularFile(path, mostBytes)).toString('utf8');
  } catch (cause) {
    if (cause instanceof ToolError) throw cause;
    const code = cause instanceof Error && 'code' in cause ? cause.code : undefined;
    if (code === 'ENOENT' || code === 'ENOTDIR') {
      throw new ToolError('file/not-found', path, `There is no file ${path}.`, 'Check the name and the folder.', cause);
    }
    if (code === 'EACCES' || code === 'EPERM') {
      throw new ToolError(
        'file/not-permitted',
        path,
        `You may not read ${path}.`,
        'Ask for the right to read it.',
        cause,
      );
    }
    throw new ToolError('file/unreadable', path, `${path} cannot be read.`, 'Check the disk it lies on.', cause);
  }
}
