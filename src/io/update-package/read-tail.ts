import { ToolError } from '../../core/model/tool-error.ts';
import { openRegularFile } from '../files/regular-file.ts';

/**
 * The last `bytes` of a file of `fileBytes`, or all of it where it is shorter. Throws ToolError `file/unreadable`, and
 * `file/changed-while-read` where the file has become shorter.
 */
export async function readTail(path: string, fileBytes: number, bytes: number): Promise<Uint8Array> {
  const tail = new Uint8Array(Math.min(bytes, fileBytes));
  const start = fileBytes - tail.length;
  const file = await openRegularFile(path).catch((cause: unknown) => {
    throw cause instanceof ToolError ? cause : unreadable(path, cause);
  });
  try {
    for (let done = 0; done < tail.length; ) {
      const { bytesRead } = await file.read(tail, done, tail.length - done, start + done);
      if (bytesRead === 0) throw shorter(path);
      done += bytesRead;
    }
    return tail;
  } catch (cause) {
    throw cause instanceof ToolError ? cause : unreadable(path, cause);
  } finally {
    await file.close();
  }
}

const unreadable = (path: string, cause: unknown): ToolError =>
  new ToolError(
    'file/unreadable',
    path,
    `The end of ${path} could not be read.`,
    'Check the drive it lies on, or copy it from its source again.',
    cause,
  );

const shorter = (path: string): ToolError =>
  new ToolError(
    'file/changed-while-read',
    path,
    `${path} became shorter while it was being read.`,
    'Wait until nothing writes to it any more (a download, a copy), then start again.',
  );
