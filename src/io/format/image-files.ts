import { lstatSync } from 'node:fs';
import { open, realpath } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { layoutSectorBytes } from '../../core/volume-format/layout/plan-fat-layout.ts';
import { readWhole } from '../files/copy-file.ts';
import { moveInto, removeFile, syncFolder, writeDurably } from '../files/durable-files.ts';
import type { Release } from '../volume/lock-by-file.ts';
import { lockStick } from '../volume/lock-stick.ts';
import { nameTaken, toStickError } from '../volume/os-error.ts';
import { layOutStick, type StickWish } from './lay-out-stick.ts';

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
 * An empty FAT32 stick in a file beside PATH, which gets its own name only when it is complete. Returns the file's
 * path; what an earlier run left there is replaced. Throws `stick/name-taken` where PATH exists, `stick/in-use` where
 * another run makes it. `finishImage` or `discardImage` follows.
 */
export async function startImage(path: string, { bytes, volumeSerial, at }: NewImage): Promise<string> {
  if (lstatSync(path, { throwIfNoEntry: false }) !== undefined) throw nameTaken(path);
  const folder = await realpath(dirname(path)).catch((error: unknown) =>
    Promise.reject(toStickError(error, 'write', path)),
  );
  locks.set(path, await lockStick(`new image ${join(folder, basename(path))}`, path));
  const wish = { bytes, fileSystem: 'fat32', partitioned: true, volumeSerial, at: new Date(at) } as const;
  try {
    await removeFile(partOf(path));
    await createStickImage(partOf(path), wish);
  } catch (error) {
    await letGo(path);
    throw error;
  }
  return partOf(path);
}

export async function discardImage(path: string): Promise<void> {
  await removeFile(partOf(path));
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
    await removeFile(list);
    await writeDurably(list, `${sha256}  ${basename(path)}\n`);
    await moveInto(list, `${path}.sha256`);
    await letGo(path);
    return sha256;
  } catch (error) {
    throw toStickError(error, 'write', path);
  }
}

export type StickImageOptions = StickWish;

/**
 * Makes a new sparse image file of an empty FAT stick. Throws ToolError `stick/name-taken` where PATH exists,
 * `stick/refused` where there is no such volume, and what the disk says.
 */
export async function createStickImage(path: string, options: StickImageOptions): Promise<void> {
  const { writes } = layOutStick(path, options);
  try {
    const file = await open(path, 'wx');
    try {
      await file.truncate(options.bytes);
      for (const { sector, bytes } of writes) await file.write(bytes, 0, bytes.length, sector * layoutSectorBytes);
      await file.sync();
    } finally {
      await file.close();
    }
    await syncFolder(dirname(path));
  } catch (error) {
    throw toStickError(error, 'write', path);
  }
}
