import { lstatSync } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { basename } from 'node:path';
import { readWhole } from '../shelf/copy-file.ts';
import { writeDurably } from '../shelf/shelf-folder.ts';
import { nameTaken, toStickError } from '../volume/os-error.ts';
import { createStickImage } from './create-stick-image.ts';

export interface NewImage {
  readonly bytes: number;
  readonly volumeSerial: number;
  /** RFC 3339. */
  readonly at: string;
}

const partOf = (path: string): string => `${path}.part`;

/**
 * An empty FAT32 stick in a file beside PATH, which gets its own name only when it is complete. Returns the file's path; what
 * an earlier run left there is replaced. Throws `stick/name-taken` where PATH exists.
 */
export async function startImage(path: string, { bytes, volumeSerial, at }: NewImage): Promise<string> {
  if (lstatSync(path, { throwIfNoEntry: false }) !== undefined) throw nameTaken(path);
  await discardImage(path);
  const wish = { bytes, fileSystem: 'fat32', partitioned: true, volumeSerial, at: new Date(at) } as const;
  await createStickImage(partOf(path), wish);
  return partOf(path);
}

export async function discardImage(path: string): Promise<void> {
  await rm(partOf(path), { force: true });
}

/** Gives the image its name and puts a list beside it that `sha256sum -c` reads. Returns its SHA-256. */
export async function finishImage(path: string): Promise<string> {
  try {
    const { sha256 } = await readWhole(partOf(path), () => {});
    await rename(partOf(path), path);
    // A file that was written elsewhere and takes the name: whatever lies there is never opened.
    const list = `${path}.sha256.part`;
    await rm(list, { force: true });
    await writeDurably(list, `${sha256}  ${basename(path)}\n`);
    await rename(list, `${path}.sha256`);
    return sha256;
  } catch (error) {
    throw toStickError(error, 'write', path);
  }
}
