import { centralRecordLength, type NameEntry, readCentralDirectory } from './read-central-directory.ts';
import { type LocalHeader, localHeaderLength, readLocalHeader } from './read-local-header.ts';
import {
  fixedBytes,
  flagBits,
  indexOfSignature,
  readUint64,
  signatures,
  viewOf,
  zip64Sentinel32,
} from './signatures.ts';

/** How far an archive must have reached, by what is left of it. */
export interface ArchiveReach {
  /** The whole archive has no fewer bytes than this. */
  readonly leastBytes: number;
  /** The part that the file's end cuts; `sizes`: an entry whose length would only come after its data. */
  readonly cut: 'entry' | 'sizes' | 'directory' | 'end';
  /** The entry's name where it is whole, else empty. */
  readonly entry: string;
  /** Where the part starts, and the byte that it reaches to at least. */
  readonly offset: number;
  readonly reachesTo: number;
}

/** What a local header says of where the next one starts. */
interface LocalReach {
  /** undefined where it is cut. */
  readonly header: LocalHeader | undefined;
  /** Bytes of header and data; of the header alone where the data's size is not known. */
  readonly bytes: number;
  /** false: the whole header does not say how long the data is; that is in a descriptor after it. */
  readonly known: boolean;
  /** Bytes that its record in the directory takes at least (APPNOTE 4.3.12). */
  readonly leastRecordBytes: number;
}

/** `bytes` start at a local header's signature and are the whole header, unless the file ends before that. */
export function reachOfLocalHeader(bytes: Uint8Array): LocalReach {
  const length = localHeaderLength(bytes) ?? -1;
  if (length < 0) {
    const { localHeader, centralHeader } = fixedBytes;
    return { header: undefined, bytes: localHeader, known: true, leastRecordBytes: centralHeader };
  }
  const view = viewOf(bytes);
  const leastRecordBytes = fixedBytes.centralHeader + view.getUint16(26, true); // 26: file name length
  const streamed = (view.getUint16(6, true) & flagBits.descriptor) !== 0; // 6: general purpose bit flag
  if (length > bytes.length) {
    const packed = view.getUint32(18, true); // 18: compressed size
    const dataBytes = streamed || packed === zip64Sentinel32 ? 0 : packed;
    return { header: undefined, bytes: length + dataBytes, known: true, leastRecordBytes };
  }
  const header = readLocalHeader(bytes.subarray(0, length));
  const known = !streamed && header.zip64.missing === undefined;
  const dataBytes = known ? header.compressedBytes : 0;
  return { header, bytes: length + dataBytes, known, leastRecordBytes };
}

/** The entries end at `at`, and so does the file; the directory takes at least `recordBytes`. */
export function reachToDirectory(at: number, recordBytes: number): ArchiveReach {
  const reachesTo = at + recordBytes;
  return { leastBytes: reachesTo + fixedBytes.end, cut: 'directory', entry: '', offset: at, reachesTo };
}

/**
 * `bytes` are all that the file has from `at` on, where the directory starts; its records take at least `recordBytes`,
 * 0 where that is not known. undefined where something else than a cut ends it.
 */
export function reachOfDirectory(bytes: Uint8Array, at: number, recordBytes: number): ArchiveReach | undefined {
  const fileBytes = at + bytes.length;
  const { records, endsAt } = readCentralDirectory(bytes, at, unnamed);
  const rest = bytes.subarray(endsAt - at);
  const presentBytes = records.reduce((sum, { nameLength }) => sum + fixedBytes.centralHeader + nameLength, 0);
  const reachesTo = endsAt + Math.max(recordBytes - presentBytes, leastRecordBytes(rest), 0);
  if (reachesTo === endsAt && (rest.length >= 4 || recordBytes > 0)) {
    const leastBytes = endsAt + leastEndBytes(rest);
    return leastBytes > fileBytes ? { leastBytes, cut: 'end', entry: '', offset: endsAt, reachesTo } : undefined;
  }
  if (rest.length >= 4 && !startsWith(rest, signatures.centralHeader)) return undefined;
  const leastBytes = Math.max(reachesTo, fileBytes - 3) + fixedBytes.end; // 3: the end record's mark may have begun
  return { leastBytes, cut: 'directory', entry: '', offset: at, reachesTo };
}

/**
 * Where the records start that lead to the end of the file, be it whole or cut; `tail` are the bytes from `tailAt` on.
 */
export function findCutDirectory(tail: Uint8Array, tailAt: number): number | undefined {
  let at = indexOfSignature(tail, signatures.centralHeader);
  while (at !== -1) {
    const { endsAt, stoppedBy } = readCentralDirectory(tail.subarray(at), tailAt + at, unnamed);
    const rest = tail.subarray(endsAt - tailAt);
    if (stoppedBy !== 'other-signature' || rest.length < 4 || closing.some((mark) => startsWith(rest, mark))) {
      return tailAt + at;
    }
    // Records inside a chain that leads nowhere lead to the same place, so that each byte is looked at once.
    at = indexOfSignature(tail, signatures.centralHeader, Math.max(endsAt - tailAt, at + 4));
  }
  return undefined;
}

const closing = [signatures.zip64End, signatures.end];

const unnamed: NameEntry = () => ({ shown: '', plain: '', alphabetUnknown: false, brokenUtf8: false });

const startsWith = (bytes: Uint8Array, mark: number): boolean =>
  bytes.length >= 4 && viewOf(bytes).getUint32(0, true) === mark;

/** Of the record that is cut; 0 where none has begun. */
function leastRecordBytes(rest: Uint8Array): number {
  if (!startsWith(rest, signatures.centralHeader)) return 0;
  return rest.length < fixedBytes.centralHeader ? fixedBytes.centralHeader : centralRecordLength(viewOf(rest), 0);
}

/** From the end of the directory to the end of the archive, by what is left of that. */
function leastEndBytes(rest: Uint8Array): number {
  if (rest.length < 12 || !startsWith(rest, signatures.zip64End)) return fixedBytes.end;
  const recordBytes = readUint64(viewOf(rest), 4) + 12; // 4: size of the record without its first 12 bytes
  return recordBytes + fixedBytes.zip64Locator + fixedBytes.end;
}
