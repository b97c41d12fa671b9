import { lstatSync } from 'node:fs';
import { realpath, rm } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { moveInto, writeDurably } from '../files/durable-files.ts';
import { readWhole } from '../shelf/copy-file.ts';
import { lockStick } from '../volume/lock-stick.ts';
import { nameTaken, toStickError } from '../volume/os-error.ts';
import type { Release } from '../volume/stick-holder.ts';
import { createStickImage } from './create-stick-image.ts';

export interface NewImage {
  readonly bytes: number;
  readonly volumeSerial: number;
  /** RFC 3339. */
  readonly at: string;
}

/** Of the images that this process makes. */
const locks = new Map<string, Release>();

const partOf = (path: string): string => `${path}.part`;

/**
 * An empty FAT32 stick in a file beside PATH, which gets its own name only when it is complete. Returns the file's path; what
 * an earlier run left there is replaced. Throws `stick/name-taken` where PATH exists, `stick/in-use` where another run makes it.
 * `finishImage` or `discardImage` follows.
 */
export async function startImage(path: string, { bytes, volumeSerial, at }: NewImage): Promise<string> {
  if (lstatSync(path, { throwIfNoEntry: false }) !== undefined) throw nameTaken(path);
  const folder = await realpath(dirname(path)).catch((error: unknown) =>
    Promise.reject(toStickError(error, 'write', path)),
  );
  locks.set(path, await lockStick(`new image ${join(folder, basename(path))}`, path));
  const wish = { bytes, fileSystem: 'fat32', partitioned: true, volumeSerial, at: new Date(at) } as const;
  try {
    await rm(partOf(path), { force: true });
    await createStickImage(partOf(path), wish);
  } catch (error) {
    await letGo(path);
    throw error;
  }
  return partOf(path);
}

export async function discardImage(path: string): Promise<void> {
  await rm(partOf(path), { force: true });
  await letGo(path);
}

async function letGo(path: string): Promise<void> {
  await locks.get(path)?.();
  locks.delete(path);
}

/** Gives the image its name and puts a list beside it that `sha256sum -c` reads. Returns its SHA-256. */
export async function finishImage(path: string): Promise<string> {
  try {
    const { sha256 } = await readWhole(partOf(path), () => {});
    await moveInto(partOf(path), path);
    // A file that was written elsewhere and takes the name: whatever lies there is never opened.
    const list = `${path}.sha256.part`;
    await rm(list, { force: true });
    await writeDurably(list, `${sha256}  ${basename(path)}\n`);
    await moveInto(list, `${path}.sha256`);
    await letGo(path);
    return sha256;
  } catch (error) {
    throw toStickError(error, 'write', path);
  }
}
