import { type CentralDirectory, readCentralDirectory } from '../../core/archive-format/read-central-directory.ts';
import {
  type ArchiveShape,
  chooseEndRecord,
  type EndRecord,
  type EndRecords,
  findEndRecords,
  readZip64End,
  readZip64Locator,
  type Zip64End,
  type Zip64Locator,
} from '../../core/archive-format/read-end-records.ts';
import { fixedBytes, longestCommentBytes, signatures, viewOf } from '../../core/archive-format/signatures.ts';
import { type ByteSource, readAt } from './read-at.ts';
import { nameEntry } from './zip-library.ts';

/** Larger directories are not read: as many entries as are taken fit in with names of 200 characters. */
export const largestDirectoryBytes = 16 * 1024 * 1024;

/** Bytes of both ends that are kept, enough to tell what a file is. */
const headBytes = 36 * 1024;
const lastBytes = 512;
const nearEndBytes = fixedBytes.end + longestCommentBytes;
/** Where nothing is found near the end, junk may follow the archive: this far back is searched. */
const farFromEndBytes = 8 * 1024 * 1024;

/** A file as far as it could be understood without reading its content. */
export type FileShape =
  | { readonly kind: 'no-end-record'; readonly fileBytes: number; readonly head: Uint8Array; readonly last: Uint8Array }
  | { readonly kind: 'directory-too-large'; readonly fileBytes: number; readonly directoryBytes: number }
  | { readonly kind: 'too-many-entries'; readonly fileBytes: number; readonly statedEntries: number }
  | { readonly kind: 'archive'; readonly shape: ArchiveShape };

/** Finds end records and directory. Every offset and size is compared with the file's size before it is used. */
export async function readShape(file: ByteSource, path: string, fileBytes: number): Promise<FileShape> {
  const head = await readAt(file, path, 0, Math.min(headBytes, fileBytes));
  const { records: ends, lastMarkAt: lastEndMarkAt } = await findEnds(file, path, fileBytes);
  const end = chooseEndRecord(ends, fileBytes);
  if (end === undefined) {
    const last = await readAt(file, path, Math.max(0, fileBytes - lastBytes), Math.min(lastBytes, fileBytes));
    return { kind: 'no-end-record', fileBytes, head, last };
  }
  const { zip64Locator, zip64End } = await readZip64(file, path, end);
  const directoryLimit = zip64End?.at ?? zip64Locator?.at ?? end.at;
  const stated = zip64End ?? end;
  const directoryAt = await locateDirectory(file, path, stated, directoryLimit);
  const spanBytes = directoryLimit - directoryAt;
  if (spanBytes > largestDirectoryBytes) return { kind: 'directory-too-large', fileBytes, directoryBytes: spanBytes };
  const directoryBytes = await readAt(file, path, directoryAt, spanBytes);
  const directory = readCentralDirectory(directoryBytes, directoryAt, nameEntry);
  if (directory.stoppedBy === 'too-many') return { kind: 'too-many-entries', fileBytes, statedEntries: stated.entries };
  const baseBytes = await findBase(file, path, directory, directoryAt - stated.directoryOffset);
  const records = { zip64Locator, zip64End, directoryAt, directoryLimit, directoryBytes, directory };
  return { kind: 'archive', shape: { fileBytes, head, ends, lastEndMarkAt, end, baseBytes, ...records } };
}

async function findEnds(file: ByteSource, path: string, fileBytes: number): Promise<EndRecords> {
  for (const length of [nearEndBytes, farFromEndBytes]) {
    const at = Math.max(0, fileBytes - length);
    const ends = findEndRecords(await readAt(file, path, at, fileBytes - at), at);
    if (ends.records.length > 0 || at === 0) return ends;
  }
  return { records: [], lastMarkAt: -1 };
}

async function readZip64(
  file: ByteSource,
  path: string,
  end: EndRecord,
): Promise<{ zip64Locator: Zip64Locator | undefined; zip64End: Zip64End | undefined }> {
  const locatorAt = end.at - fixedBytes.zip64Locator;
  if (locatorAt < 0) return { zip64Locator: undefined, zip64End: undefined };
  const zip64Locator = readZip64Locator(await readAt(file, path, locatorAt, fixedBytes.zip64Locator), locatorAt);
  if (zip64Locator === undefined) return { zip64Locator, zip64End: undefined };
  // Where bytes were put before the archive the stated offset is short, but the record still ends at the locator.
  for (const at of [zip64Locator.recordOffset, locatorAt - fixedBytes.zip64End]) {
    if (at < 0 || at > locatorAt - fixedBytes.zip64End) continue;
    const zip64End = readZip64End(await readAt(file, path, at, fixedBytes.zip64End), at);
    if (zip64End !== undefined) return { zip64Locator, zip64End };
  }
  return { zip64Locator, zip64End: undefined };
}

type Stated = Pick<EndRecord, 'directoryOffset' | 'directoryBytes' | 'entries'>;

/** The stated place where records begin there, else the place that the stated size gives, else an empty directory. */
async function locateDirectory(file: ByteSource, path: string, stated: Stated, limit: number): Promise<number> {
  const counted = limit - stated.directoryBytes;
  for (const directoryAt of [stated.directoryOffset, counted]) {
    if (directoryAt < 0 || directoryAt + fixedBytes.centralHeader > limit) continue;
    if (await hasSignature(file, path, directoryAt, signatures.centralHeader)) return directoryAt;
  }
  const empty = stated.directoryBytes === 0 && stated.entries === 0;
  return empty && stated.directoryOffset <= limit ? stated.directoryOffset : limit;
}

/**
 * A directory that lies further back than stated has bytes before the whole archive, by which all offsets are short, or
 * only its own offset is wrong; the first entry's local header tells which.
 */
async function findBase(
  file: ByteSource,
  path: string,
  { records: [first] }: CentralDirectory,
  shiftBytes: number,
): Promise<number> {
  if (first === undefined || shiftBytes <= 0) return 0;
  const asStated = await hasSignature(file, path, first.headerOffset, signatures.localHeader);
  return asStated ? 0 : shiftBytes;
}

async function hasSignature(file: ByteSource, path: string, at: number, signature: number): Promise<boolean> {
  if (!Number.isSafeInteger(at)) return false;
  const bytes = await readAt(file, path, at, 4);
  return bytes.length === 4 && viewOf(bytes).getUint32(0, true) === signature;
}
