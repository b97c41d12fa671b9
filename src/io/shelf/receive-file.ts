import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { roundedSize } from '../../core/text/words.ts';
import { makeFolders, removeTree } from '../files/durable-files.ts';
import { type Delivery, freeWhereTooLittle, type Received, takeIn } from '../files/take-in.ts';
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
    await takeIn(path, delivery);
    return { path, discard };
  } catch (cause) {
    await discard();
    throw delivery.signal.aborted ? cause : toShelfError(cause, 'write', path);
  }
}

/** It lies there twice for a while: as it came, and as it is kept. */
async function expectSpace(place: string, bytes: number): Promise<void> {
  const free = await freeWhereTooLittle(place, 2 * bytes);
  if (free === undefined) return;
  throw new ToolError(
    'shelf/write-failed',
    place,
    `There is no space for it at ${place}: ${roundedSize(2 * bytes)} are needed while it is added, ${roundedSize(free)} are free.`,
    'Nothing was added. Free some space where the shelf lies, then hand it over once more.',
  );
}
