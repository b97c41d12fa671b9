import { closeSync, constants, open as openCallback, read as readCallback } from 'node:fs';
import { type FileHandle, open } from 'node:fs/promises';
import { promisify } from 'node:util';
import { openUnlessHeld } from '../../files/durable-files.ts';
import { directFlag } from '../direct-device.ts';
import { errnoOf } from '../os-error.ts';
import { type BlockPool, readAhead, readsToTheEnd } from '../read-ahead.ts';
import { directAlignment } from '../sector-device.ts';
import type { FileParts, ReadBackKind, VolumeReader } from '../volume.ts';

/** Absent on Windows, where a link has been looked for before. */
const noFollow = (constants as { readonly O_NOFOLLOW?: number }).O_NOFOLLOW ?? 0;
const noWait = (constants as { readonly O_NONBLOCK?: number }).O_NONBLOCK ?? 0;

export interface FolderFile {
  readonly absolutePath: string;
  readonly readBack: ReadBackKind;
  readonly pool: BlockPool;
  readonly explain: (error: unknown) => Promise<Error>;
}

/**
 * Reads ahead by one block. The file is opened when the chunks are asked for, and closed when they are read or left.
 */
export const openFolderReader = (file: FolderFile): VolumeReader => ({
  readBack: file.readBack,
  chunks: () => readChunks(file),
});

/** A link is refused where the system can do that; a named pipe does not hold up whoever opens it. */
const flagsFor = (direct: boolean): number => constants.O_RDONLY | noFollow | noWait | (direct ? (directFlag ?? 0) : 0);

const openForReading = (path: string, direct: boolean): Promise<FileHandle> =>
  openUnlessHeld(() => open(path, flagsFor(direct)));

/** Reads parts of a file through the system's cache. */
export async function openFolderParts(path: string, explain: FolderFile['explain']): Promise<FileParts> {
  const handle = await openForReading(path, false);
  return {
    read: (buffer, offset, length, position) =>
      handle.read(buffer, offset, length, position).catch(async (error: unknown) => {
        throw await explain(error);
      }),
    close: () => handle.close(),
  };
}

/** Whether the system opens PATH around its cache, and then also reads it: some only refuse the read. */
export async function canReadDirect(path: string, pool: BlockPool): Promise<boolean> {
  const block = pool.take();
  let handle: FileHandle | undefined;
  try {
    handle = await openForReading(path, true);
    await handle.read(block, 0, directAlignment, 0);
    return directFlag !== undefined;
  } catch (error) {
    if (['EINVAL', 'ENOTSUP'].includes(errnoOf(error) ?? '')) return false;
    throw error;
  } finally {
    await handle?.close();
    pool.giveBack(block);
  }
}

/** File numbers, not handles: of thousands of small files a handle costs more than its file. */
async function* readChunks({ absolutePath, readBack, pool, explain }: FolderFile): AsyncGenerator<Uint8Array> {
  let opened: number | undefined;
  try {
    const fd = await openUnlessHeld(() => openNumber(absolutePath, flagsFor(readBack === 'medium')));
    opened = fd;
    yield* readAhead(readsToTheEnd(), (into, { at }) => fill(fd, into, at), pool);
  } catch (error) {
    throw await explain(error);
  } finally {
    // At once: nothing was written that closing would wait for.
    if (opened !== undefined) closeSync(opened);
  }
}

const openNumber = promisify(openCallback);
const readNumber = promisify(readCallback);

/**
 * Fills BLOCK unless the file ends. A direct read goes on only from an aligned place: anything else is the end of the
 * file.
 */
async function fill(fd: number, block: Uint8Array, position: number): Promise<number> {
  let done = 0;
  while (done < block.length) {
    const { bytesRead } = await readNumber(fd, block, done, block.length - done, position + done);
    done += bytesRead;
    if (bytesRead === 0 || done % directAlignment !== 0) break;
  }
  return done;
}
