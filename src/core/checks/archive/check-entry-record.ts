import { type CentralRecord, extraFieldsOf } from '../../archive-format/read-central-directory.ts';
import { type ArchiveShape, startOf } from '../../archive-format/read-end-records.ts';
import type { ExtraFields } from '../../archive-format/read-extra-fields.ts';
import {
  extraIds,
  fixedBytes,
  flagBits,
  largestDeflateRatio,
  methods,
  viewOf,
} from '../../archive-format/signatures.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/** Newest feature level that the published specification names (APPNOTE 4.4.3.2). */
const newestVersion = 6.3;
/** Zip64 asks for 4.5; what came later is about encryption and other methods. Info-ZIP's unzip 6 stops at 4.6. */
const newestPlainVersion = 4.6;

/** One directory record by itself: can it be unpacked, and can what it states be true? */
export function checkEntryRecord(record: CentralRecord, shape: ArchiveShape): readonly Finding[] {
  const subject = record.name.shown;
  const offset = startOf(shape, record);
  const extra = extraFieldsOf(shape, record);
  const encrypted = isEncrypted(record, extra);
  const found: Finding[] = [];
  if (encrypted) found.push(finding('archive/encrypted', subject, { offset }));
  else found.push(...checkMethod(record, offset));
  found.push(...checkVersion(record, offset));
  if (record.diskStart !== 0) found.push(finding('archive/split-set', subject, { offset, part: record.diskStart + 1 }));
  if (extra.overrun !== undefined) {
    found.push(finding('archive/extra-field-damaged', subject, { offset: record.at, where: 'directory' }));
  }
  if (record.zip64.missing !== undefined) {
    found.push(finding('archive/zip64-extra-missing', subject, { offset: record.at, field: record.zip64.missing }));
  }
  if (record.zip64.contradictory) {
    found.push(finding('archive/zip64-extra-contradicts', subject, { offset: record.at, where: 'directory' }));
  }
  if (offset + fixedBytes.localHeader + record.compressedBytes > shape.directoryAt) {
    found.push(finding('archive/entry-outside', subject, { offset, compressedBytes: record.compressedBytes }));
  }
  if (!encrypted && isImpossibleSize(record)) {
    const { bytes, compressedBytes, method } = record;
    found.push(finding('archive/size-impossible', subject, { offset, bytes, compressedBytes, method }));
  }
  if (subject.endsWith('/') && record.bytes > 0) {
    found.push(finding('archive/folder-with-content', subject, { offset, bytes: record.bytes }));
  }
  return found;
}

const isEncrypted = ({ flags }: CentralRecord, extra: ExtraFields): boolean =>
  (flags & (flagBits.encrypted | flagBits.strongEncryption | flagBits.maskedHeader)) !== 0 ||
  extra.fields.some(({ id }) => id === extraIds.aes);

function checkVersion({ name, method, versionNeeded }: CentralRecord, offset: number): readonly Finding[] {
  const version = (versionNeeded & 0xff) / 10; // the upper byte is not part of it (APPNOTE 4.4.3.1)
  if (version > newestVersion) return [finding('archive/version-unknown', name.shown, { offset, version })];
  const plain = method === methods.stored || method === methods.deflate;
  return plain && version > newestPlainVersion
    ? [finding('archive/version-high', name.shown, { offset, version })]
    : [];
}

function checkMethod({ name, method, flags }: CentralRecord, offset: number): readonly Finding[] {
  if (method !== methods.stored && method !== methods.deflate) {
    return [finding('archive/method-unsupported', name.shown, { offset, method })];
  }
  if ((flags & flagBits.patched) !== 0) return [finding('archive/patch-data', name.shown, { offset })];
  return [];
}

function isImpossibleSize(record: CentralRecord): boolean {
  if (record.method === methods.stored) return record.bytes !== record.compressedBytes;
  return record.method === methods.deflate && record.bytes > record.compressedBytes * largestDeflateRatio;
}

/** Systems whose attributes carry a Unix mode in their upper half (APPNOTE 4.4.2.2: 3 UNIX, 19 OS X). */
const unixHosts = new Set([3, 19]);
/** The mode again, in Info-ZIP's ASi Unix extra: 4 bytes CRC, 2 bytes mode (APPNOTE 4.6.1, proginfo/extrafld.txt). */
const asiUnixExtra = 0x756e;

/** File types and bits of a Unix mode, octal as POSIX <sys/stat.h> has them by custom. */
const typeMask = 0o170000;
const types: ReadonlyMap<number, 'link' | 'device' | 'socket' | 'pipe' | 'folder'> = new Map([
  [0o120000, 'link'],
  [0o060000, 'device'],
  [0o020000, 'device'],
  [0o140000, 'socket'],
  [0o010000, 'pipe'],
  [0o040000, 'folder'],
]);
const setIdBits = 0o6000;

/** Systems whose attributes are those of MS-DOS (APPNOTE 4.4.2.2: 0 FAT, 10 NTFS, 14 VFAT). */
const dosHosts = new Set([0, 10, 14]);
const isDos = ({ versionMadeBy }: CentralRecord): boolean => dosHosts.has(versionMadeBy >>> 8);
/** Bit 4 of the lower byte (Microsoft FAT specification 1.03, ATTR_DIRECTORY). */
const isDosFolder = ({ externalAttributes }: CentralRecord): boolean => (externalAttributes & 0x10) !== 0;

/**
 * Links and special files have no place on a FAT stick. A pipe is what archivers note for data that came through one.
 */
export function checkFileType(record: CentralRecord, shape: ArchiveShape): readonly Finding[] {
  const subject = record.name.shown;
  const offset = startOf(shape, record);
  const modes = [...unixModes(record, shape)];
  const kinds = new Set(modes.map((mode) => types.get(mode & typeMask)));
  const found: Finding[] = [];
  if (kinds.has('link')) found.push(finding('archive/link', subject, { offset }));
  if (kinds.has('device') || kinds.has('socket')) {
    found.push(finding('archive/special-file', subject, { offset, kind: kinds.has('device') ? 'device' : 'socket' }));
  }
  if (!subject.endsWith('/') && (kinds.has('folder') || (isDos(record) && isDosFolder(record)))) {
    found.push(finding('archive/folder-by-attribute', subject, { offset }));
  }
  if (modes.some((mode) => (mode & setIdBits) !== 0)) found.push(finding('archive/set-id', subject, { offset }));
  return found;
}

function* unixModes(record: CentralRecord, shape: ArchiveShape): Generator<number> {
  if (unixHosts.has(record.versionMadeBy >>> 8)) yield record.externalAttributes >>> 16;
  for (const { id, data } of extraFieldsOf(shape, record).fields) {
    if (id === asiUnixExtra && data.length >= 6) yield viewOf(data).getUint16(4, true);
  }
}
