import { type ArchiveShape, startOf } from '../../archive-format/archive-shape.ts';
import { type CentralRecord, extraFieldsOf } from '../../archive-format/read-central-directory.ts';
import type { ExtraFields } from '../../archive-format/read-extra-fields.ts';
import { extraIds, fixedBytes, flagBits, largestDeflateRatio, methods } from '../../archive-format/signatures.ts';
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
