import {
  type CentralRecord,
  type NameEntry,
  readCentralDirectory,
} from '../../core/archive-format/read-central-directory.ts';
import { chooseEndRecord, findEndRecords } from '../../core/archive-format/read-end-records.ts';
import { localHeaderLength } from '../../core/archive-format/read-local-header.ts';
import type { Nesting } from '../../core/archive-format/reading-facts.ts';
import { largestDeflateRatio, methods, signatures, viewOf } from '../../core/archive-format/signatures.ts';
import { inflateAtOnce, inflateStart } from './inflate-at-once.ts';

/** Inner archives up to this size are looked into; those that grow without measure are small. */
export const largestInnerBytes = 8 * 1024 * 1024;
const deepestLevel = 8;

/** Whether bytes start as a zip archive does. */
export const looksLikeArchive = (bytes: Uint8Array): boolean =>
  bytes.length >= 4 && viewOf(bytes).getUint32(0, true) === signatures.localHeader;

/** How deep the archives in an archive go, and what all of them would unpack to, as their directories state. */
export function measureNesting(archive: Uint8Array): Nesting {
  return measure(archive, 1, { inflatedBytes: 4 * largestInnerBytes });
}

function measure(archive: Uint8Array, depth: number, left: { inflatedBytes: number }): Nesting {
  const records = recordsOf(archive);
  let bytes = records.reduce((sum, record) => sum + believableBytes(record), 0);
  let deepest = depth;
  for (const record of records) {
    if (record.bytes > largestInnerBytes || record.bytes > left.inflatedBytes) continue;
    const inner = contentOf(archive, record);
    if (inner === undefined) continue;
    left.inflatedBytes -= inner.length;
    if (depth >= deepestLevel) return { depth: depth + 1, bytes, endless: true };
    const found = measure(inner, depth + 1, left);
    bytes += found.bytes;
    deepest = Math.max(deepest, found.depth);
    if (found.endless) return { depth: deepest, bytes, endless: true };
  }
  return { depth: deepest, bytes, endless: false };
}

/** Names do not matter here. */
const nameless: NameEntry = () => ({ shown: '', plain: '', alphabetUnknown: false, brokenUtf8: false });

function recordsOf(archive: Uint8Array): readonly CentralRecord[] {
  const end = chooseEndRecord(findEndRecords(archive, 0).records, archive.length);
  if (end === undefined || end.directoryOffset > end.at) return [];
  return readCentralDirectory(archive.subarray(end.directoryOffset, end.at), end.directoryOffset, nameless).records;
}

/** What a record can become at most, whatever it states. */
const believableBytes = ({ method, bytes, compressedBytes }: CentralRecord): number =>
  method === methods.deflate ? Math.min(bytes, compressedBytes * largestDeflateRatio) : compressedBytes;

/** The content of an entry that is an archive itself. */
function contentOf(archive: Uint8Array, record: CentralRecord): Uint8Array | undefined {
  const header = localHeaderLength(archive.subarray(record.headerOffset));
  if (header === undefined || header === -1) return undefined;
  const at = record.headerOffset + header;
  const data = archive.subarray(at, at + record.compressedBytes);
  if (record.method === methods.stored) return looksLikeArchive(data) ? data : undefined;
  if (record.method !== methods.deflate || !looksLikeArchive(inflateStart(data))) return undefined;
  const inflated = inflateAtOnce(data, record.bytes);
  return 'bytes' in inflated ? inflated.bytes : undefined;
}
