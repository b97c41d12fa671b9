import type { FileHandle } from 'node:fs/promises';
import yauzl, { type Entry } from 'yauzl';
import type { ArchiveShape } from '../../core/archive-format/read-end-records.ts';
import {
  compareDirectoryReaders,
  type LibraryFacts,
  type LibraryReading,
} from '../../core/archive-format/reading-facts.ts';
import { readAt } from './read-at.ts';

/**
 * Reads the directory a second time, with a library that nobody here wrote, in its strict mode; where it sees something
 * else than our own parser, or objects, that is said. It is only given positions inside
 * the file, and whatever it throws ends here.
 */
export async function readWithLibrary(file: FileHandle, path: string, shape: ArchiveShape): Promise<LibraryFacts> {
  let index = 0;
  try {
    const totalBytes = shape.fileBytes - shape.baseBytes;
    const reader = new BoundedReader(file, path, shape);
    const zip = await yauzl.fromRandomAccessReaderPromise(reader, totalBytes, { strictFileNames: true });
    for await (const entry of zip.eachEntry()) {
      const differs = compareDirectoryReaders(shape.directory.records[index], readingOf(entry), index);
      if (differs !== undefined) return { differs, objection: undefined };
      index += 1;
    }
  } catch (cause) {
    return { differs: undefined, objection: cause instanceof Error ? cause.message : String(cause) };
  }
  const missed = shape.directory.records[index];
  const differs = missed === undefined ? undefined : compareDirectoryReaders(missed, undefined, index);
  return { differs, objection: undefined };
}

const readingOf = (entry: Entry): LibraryReading => ({
  name: entry.fileName,
  flags: entry.generalPurposeBitFlag,
  method: entry.compressionMethod,
  crc32: entry.crc32,
  compressedBytes: entry.compressedSize,
  bytes: entry.uncompressedSize,
  headerOffset: entry.relativeOffsetOfLocalHeader,
});

type ReadDone = (error: Error | null, bytesRead?: number) => void;

/** Answers from the directory in memory; refuses every position that is not inside the file. */
class BoundedReader extends yauzl.RandomAccessReader {
  readonly #file: FileHandle;
  readonly #path: string;
  readonly #shape: ArchiveShape;

  constructor(file: FileHandle, path: string, shape: ArchiveShape) {
    super();
    this.#file = file;
    this.#path = path;
    this.#shape = shape;
  }

  override read(buffer: Buffer, offset: number, length: number, position: number, done: ReadDone): void {
    const at = position + this.#shape.baseBytes;
    if (!Number.isSafeInteger(at) || at < 0 || at + length > this.#shape.fileBytes) {
      done(new Error(`position ${position} is outside the file`));
      return;
    }
    const { directoryAt, directoryBytes } = this.#shape;
    if (at >= directoryAt && at + length <= directoryAt + directoryBytes.length) {
      buffer.set(directoryBytes.subarray(at - directoryAt, at - directoryAt + length), offset);
      done(null, length);
      return;
    }
    readAt(this.#file, this.#path, at, length)
      .then((bytes) => {
        bytes.copy(buffer, offset);
        return bytes.length;
      })
      .then(
        (bytesRead) => done(null, bytesRead),
        (cause: Error) => done(cause),
      )
      // Only the library's own callback can throw here; without this it would end the process.
      .catch((cause: Error) => this.emit('error', cause));
  }

  override close(done: (error: Error | null) => void): void {
    done(null);
  }
}
