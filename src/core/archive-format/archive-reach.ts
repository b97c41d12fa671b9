import { type LocalHeader, localHeaderLength, readLocalHeader } from './read-local-header.ts';
import { fixedBytes, flagBits, zip64Mark32 } from './signatures.ts';
import { viewOf } from './view-of.ts';

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
export interface LocalReach {
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
    const dataBytes = streamed || packed === zip64Mark32 ? 0 : packed;
    return { header: undefined, bytes: length + dataBytes, known: true, leastRecordBytes };
  }
  const header = readLocalHeader(bytes.subarray(0, length));
  const known = !streamed && header.zip64.missing === undefined;
  const dataBytes = known ? header.compressedBytes : 0;
  return { header, bytes: length + dataBytes, known, leastRecordBytes };
}
