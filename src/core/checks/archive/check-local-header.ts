import type { CentralRecord, EntryName } from '../../archive-format/read-central-directory.ts';
import type { DifferingPart, LocalHeader } from '../../archive-format/read-local-header.ts';
import { flagBits, methods } from '../../archive-format/signatures.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { checkNameReadings } from './check-name.ts';

/** Bit 3 is looked at apart, bit 11 by what becomes of the name. */
const comparedBits = 0xffff & ~(flagBits.descriptor | flagBits.utf8);
/** Bits 1 and 2 tell how hard deflate tried, which nobody needs for unpacking (APPNOTE 4.4.4). */
const effortBits = 0b110;
const encryptionBits = flagBits.encrypted | flagBits.strongEncryption | flagBits.maskedHeader;

/**
 * Compares the header before an entry's data with the directory's record. They say the same things twice (APPNOTE
 * 4.3.7, 4.3.12); where they differ, a reader that walks the local headers and one that trusts the directory see two
 * different entries.
 */
export function checkLocalHeader(
  record: CentralRecord,
  offset: number,
  local: LocalHeader,
  localName: EntryName,
): readonly Finding[] {
  const subject = record.name.shown;
  const found: Finding[] = [];
  const differing = [...differingParts(record, local, localName)];
  if (differing.length > 0) found.push(finding('archive/headers-disagree', subject, { offset, differing }));
  if (((record.flags ^ local.flags) & flagBits.descriptor) !== 0) {
    const where = (local.flags & flagBits.descriptor) !== 0 ? "the entry's own header" : 'the directory';
    found.push(finding('archive/streamed-on-one-side', subject, { offset, where }));
  }
  if (local.extra.overrun !== undefined) {
    found.push(finding('archive/extra-field-damaged', subject, { offset, where: 'local header' }));
  }
  if (local.zip64.contradictory) {
    found.push(finding('archive/zip64-extra-contradicts', subject, { offset, where: 'local header' }));
  }
  found.push(...checkNameReadings(local.nameBytes, localName, subject, offset));
  return found;
}

function* differingParts(record: CentralRecord, local: LocalHeader, localName: EntryName): Generator<DifferingPart> {
  const part = (name: string, directory: string | number, there: string | number): DifferingPart => ({
    part: name,
    directory: String(directory),
    local: String(there),
  });
  if (record.name.plain !== localName.plain) yield part('name', record.name.plain, localName.plain);
  else if (record.name.shown !== localName.shown) yield part('Unicode name', record.name.shown, localName.shown);
  if (record.method !== local.method) yield part('method', record.method, local.method);
  if ((record.flags & encryptionBits) !== (local.flags & encryptionBits)) {
    yield part('encryption', record.flags & encryptionBits, local.flags & encryptionBits);
  }
  const otherBits = comparedBits & ~encryptionBits & ~(record.method === methods.deflate ? effortBits : 0);
  if ((record.flags & otherBits) !== (local.flags & otherBits)) yield part('flags', record.flags, local.flags);
  // Written before its data, a streamed entry's header may leave these at zero (APPNOTE 4.4.4, bit 3).
  const streamed = (local.flags & flagBits.descriptor) !== 0;
  const mayDiffer = (there: number): boolean => streamed && there === 0;
  if (local.zip64.missing !== undefined) yield part('Zip64 sizes', 'present', `${local.zip64.missing} missing`);
  else {
    if (record.bytes !== local.bytes && !mayDiffer(local.bytes)) yield part('size', record.bytes, local.bytes);
    if (record.compressedBytes !== local.compressedBytes && !mayDiffer(local.compressedBytes)) {
      yield part('compressed size', record.compressedBytes, local.compressedBytes);
    }
  }
  if (record.crc32 !== local.crc32 && !mayDiffer(local.crc32)) yield part('CRC-32', record.crc32, local.crc32);
  const timed = !streamed && (local.modDate !== 0 || local.modTime !== 0);
  if (timed && (record.modDate !== local.modDate || record.modTime !== local.modTime)) {
    yield part('date', `${record.modDate}/${record.modTime}`, `${local.modDate}/${local.modTime}`);
  }
}
