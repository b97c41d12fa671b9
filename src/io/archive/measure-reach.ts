import type { FileHandle } from 'node:fs/promises';
import {
  type ArchiveReach,
  findCutDirectory,
  reachOfDirectory,
  reachOfLocalHeader,
  reachToDirectory,
} from '../../core/archive-format/archive-reach.ts';
import { type LocalHeader, localHeaderLength } from '../../core/archive-format/read-local-header.ts';
import { fixedBytes, signatures, viewOf } from '../../core/archive-format/signatures.ts';
import { readAt } from './read-at.ts';
import { largestDirectoryBytes } from './read-shape.ts';
import { nameEntry } from './zip-library.ts';

/** More headers are not walked: firmware has thousands. */
const mostHeaders = 200_000;
/** Read at once from a header on; where entries are small, the next ones are in it. */
const windowBytes = 16 * 1024;
/** Where an entry's length is unknown, a directory that has begun is searched this far from the end. */
const tailBytes = 1024 * 1024;

/**
 * Walks the local headers from the start of a file that is no whole archive, content unread, and says how far the
 * archive must have reached; undefined where they do not lead to the file's end, or the walk loses its way.
 */
export async function measureReach(
  file: FileHandle,
  path: string,
  fileBytes: number,
): Promise<ArchiveReach | undefined> {
  const window = new Window(file, path);
  let at = 0;
  let recordBytes = 0;
  for (let count = 0; count < mostHeaders; count += 1) {
    const start = await window.from(at, fixedBytes.localHeader);
    if (start.length < 4) return at === 0 ? undefined : reachToDirectory(at, recordBytes);
    const signature = viewOf(start).getUint32(0, true); // 0: signature
    if (signature === signatures.centralHeader) {
      if (fileBytes - at > largestDirectoryBytes) return undefined;
      return reachOfDirectory(await readAt(file, path, at, fileBytes - at), at, recordBytes);
    }
    if (signature !== signatures.localHeader) return undefined;
    const reach = reachOfLocalHeader(await window.from(at, localHeaderLength(start) ?? start.length));
    recordBytes += reach.leastRecordBytes;
    const reachesTo = at + reach.bytes;
    const entry = nameOf(reach.header);
    if (reachesTo > fileBytes) {
      return { leastBytes: reachesTo + recordBytes + fixedBytes.end, cut: 'entry', entry, offset: at, reachesTo };
    }
    if (!reach.known) {
      const tailAt = Math.max(reachesTo, fileBytes - tailBytes);
      const tail = await readAt(file, path, tailAt, fileBytes - tailAt);
      const directoryAt = findCutDirectory(tail, tailAt);
      if (directoryAt !== undefined) return reachOfDirectory(tail.subarray(directoryAt - tailAt), directoryAt, 0);
      // 3: the mark of the directory's first record may have begun
      const leastBytes = Math.max(reachesTo, fileBytes - 3) + recordBytes + fixedBytes.end;
      return { leastBytes, cut: 'sizes', entry, offset: at, reachesTo };
    }
    at = reachesTo;
  }
  return undefined;
}

const nameOf = (header: LocalHeader | undefined): string =>
  header === undefined ? '' : nameEntry(header.flags, header.nameBytes, header.extra).shown;

/** The file's bytes from a place on; short reads are spared where they are in memory already. */
class Window {
  readonly #file: FileHandle;
  readonly #path: string;
  #at = 0;
  #bytes: Buffer = Buffer.alloc(0);

  constructor(file: FileHandle, path: string) {
    this.#file = file;
    this.#path = path;
  }

  /** At least `length` bytes from `at` on, fewer only where the file ends. */
  async from(at: number, length: number): Promise<Buffer> {
    const within = at - this.#at;
    if (within < 0 || within + length > this.#bytes.length) {
      this.#at = at;
      this.#bytes = await readAt(this.#file, this.#path, at, Math.max(length, windowBytes));
      return this.#bytes;
    }
    return this.#bytes.subarray(within);
  }
}
