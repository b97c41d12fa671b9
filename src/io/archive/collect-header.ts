import { localHeaderLength } from '../../core/archive-format/read-local-header.ts';
import { fixedBytes } from '../../core/archive-format/signatures.ts';

/**
 * Takes a local header's next bytes; returns how many it took. A header that lies whole in `bytes` is not copied, so it
 * is only valid as long as they are.
 */
export function collectHeader(header: { bytes: Buffer }, bytes: Buffer): number {
  const whole = header.bytes.length === 0 ? localHeaderLength(bytes) : undefined;
  if (whole !== undefined && whole !== -1 && whole <= bytes.length) {
    header.bytes = bytes.subarray(0, whole);
    return whole;
  }
  const known = localHeaderLength(header.bytes);
  const wanted = known === undefined || known === -1 ? fixedBytes.localHeader : known;
  const part = bytes.subarray(0, wanted - header.bytes.length);
  header.bytes = Buffer.concat([header.bytes, part]);
  return part.length;
}
