import { createHash } from 'node:crypto';
import { createReadStream, existsSync } from 'node:fs';
import { rename, rm, writeFile } from 'node:fs/promises';
import { basename } from 'node:path';
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
  if (existsSync(path)) throw nameTaken(path);
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
    const hash = createHash('sha256');
    for await (const chunk of createReadStream(partOf(path), { highWaterMark: 2 ** 20 })) hash.update(chunk);
    const sha256 = hash.digest('hex');
    await rename(partOf(path), path);
    await writeFile(`${path}.sha256`, `${sha256}  ${basename(path)}\n`);
    return sha256;
  } catch (error) {
    throw toStickError(error, 'write', path);
  }
}
