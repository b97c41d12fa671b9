import type { FileHandle } from 'node:fs/promises';
import yauzl, { type Entry } from 'yauzl';
import {
  type CentralRecord,
  type DirectoryBytes,
  type EntryName,
  type NameEntry,
  nameBytesOf,
} from '../../core/archive-format/read-central-directory.ts';
import type { ArchiveShape } from '../../core/archive-format/read-end-records.ts';
import type { LocalHeader } from '../../core/archive-format/read-local-header.ts';
import {
  compareDirectoryReaders,
  type LibraryFacts,
  type LibraryReading,
} from '../../core/archive-format/reading-facts.ts';
import { extraIds, flagBits } from '../../core/archive-format/signatures.ts';
import { readAt } from './read-at.ts';

const strictUtf8 = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

/** Decodes a name by the library's own rules: UTF-8 where bit 11 says so, else CP437; the Unicode path extra wins. */
export const nameEntry: NameEntry = (flags, nameBytes, extra) => {
  const raw = asBuffer(nameBytes);
  const isNamedAgain = extra.fields.some(({ id }) => id === extraIds.unicodePath);
  if (!isNamedAgain && raw.every((byte) => byte >= 0x20 && byte < 0x7f)) {
    const text = raw.toString('latin1'); // printable ASCII is the same in every alphabet
    return { shown: text, plain: text, alphabetUnknown: false, brokenUtf8: false };
  }
  const fields = extra.fields.map(({ id, data }) => ({ id, data: asBuffer(data) }));
  const plain = inOnePiece(yauzl.getFileNameLowLevel(flags, raw, [], true));
  const shown = isNamedAgain ? yauzl.getFileNameLowLevel(flags, raw, fields, true) : plain;
  const saysUtf8 = (flags & flagBits.utf8) !== 0;
  const beyondAscii = nameBytes.some((byte) => byte > 0x7f);
  return {
    shown,
    plain,
    alphabetUnknown: beyondAscii && !saysUtf8 && shown === plain,
    brokenUtf8: beyondAscii && saysUtf8 && !isUtf8(nameBytes),
  };
};

/** The name in a local header; decoded only where it is not written as in the directory. */
export function nameLocalHeader(directory: DirectoryBytes, record: CentralRecord, local: LocalHeader): EntryName {
  const same =
    record.extraLength === 0 &&
    local.extra.fields.length === 0 &&
    ((record.flags ^ local.flags) & flagBits.utf8) === 0 &&
    Buffer.compare(local.nameBytes, nameBytesOf(directory, record)) === 0;
  return same ? record.name : nameEntry(local.flags, local.nameBytes, local.extra);
}

/** The library puts CP437 together letter by letter, and V8 would keep a node of 32 bytes for each of them. */
const inOnePiece = (text: string): string => Buffer.from(text, 'utf16le').toString('utf16le');

const asBuffer = (bytes: Uint8Array): Buffer => Buffer.from(bytes.buffer, bytes.byteOffset, bytes.byteLength);

function isUtf8(bytes: Uint8Array): boolean {
  try {
    strictUtf8.decode(bytes);
    return true;
  } catch {
    return false;
  }
}

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
