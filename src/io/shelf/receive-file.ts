import { mkdir, open, statfs } from 'node:fs/promises';
import { join } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { roundedSize } from '../../core/text/words.ts';
import { writeAll } from '../files/copy-file.ts';
import { makeFolders, removeTree } from '../files/durable-files.ts';
import type { Delivery, Received } from './shelf.ts';
import { newTag, shelfLayout, toShelfError } from './shelf-folder.ts';

/**
 * Takes a file in beside the packages, in a folder below `incoming` that nobody else may look into: what a desk that is
 * cut off leaves there is cleared away like any other unfinished addition. Whatever goes wrong, nothing stays.
 */
export async function receiveFile(place: string, name: string, delivery: Delivery): Promise<Received> {
  const folder = join(place, shelfLayout.incoming, newTag());
  const path = join(folder, name);
  const discard = (): Promise<void> => removeTree(folder);
  try {
    await makeFolders(join(place, shelfLayout.incoming));
    await expectSpace(place, delivery.bytes);
    await mkdir(folder, { mode: 0o700 });
    await write(path, delivery);
    return { path, discard };
  } catch (cause) {
    await discard();
    throw delivery.signal.aborted ? cause : toShelfError(cause, 'write', path);
  }
}

async function write(path: string, { chunks, bytes, heard, signal }: Delivery): Promise<void> {
  const file = await open(path, 'wx', 0o600);
  try {
    let done = 0;
    for await (const chunk of chunks) {
      signal.throwIfAborted();
      if (done + chunk.byteLength > bytes) throw notWhole(path, bytes, 'more');
      await writeAll(file, chunk, done);
      done += chunk.byteLength;
      heard(done);
    }
    signal.throwIfAborted();
    if (done < bytes) throw notWhole(path, bytes, 'less');
  } finally {
    await file.close();
  }
}

const notWhole = (path: string, bytes: number, came: 'more' | 'less'): ToolError =>
  new ToolError(
    'file/unreadable',
    path,
    `${came === 'more' ? 'More' : 'Fewer'} bytes came than the ${bytes.toLocaleString('en-US')} that it was said to have.`,
    'Nothing was added. The file may have changed meanwhile, or it was cut off: hand it over once more.',
  );

/** It lies there twice for a while: as it came, and as it is kept. */
async function expectSpace(place: string, bytes: number): Promise<void> {
  const { bavail, bsize, blocks } = await statfs(place);
  const free = bavail * bsize;
  // Some network folders do not tell (0 blocks); there the writing itself says when it is full.
  if (blocks === 0 || 2 * bytes <= free) return;
  throw new ToolError(
    'shelf/write-failed',
    place,
    `There is no space for it at ${place}: ${roundedSize(2 * bytes)} are needed while it is added, ${roundedSize(free)} are free.`,
    'Nothing was added. Free some space where the shelf lies, then hand it over once more.',
  );
}
