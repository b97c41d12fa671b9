import type { CentralRecord } from '../../archive-format/read-central-directory.ts';
import { type LocalHeader, readDataDescriptor } from '../../archive-format/read-local-header.ts';
import type { Gap } from '../../archive-format/reading-facts.ts';
import { flagBits, viewOf } from '../../archive-format/signatures.ts';
import { type Finding, finding } from '../../findings/finding.ts';

/** "PK00": an archive that was meant to be split and fitted into one part (APPNOTE 8.5.4). */
const singlePartSignature = 0x30304b50;
/** The last 16 bytes of a signing block between entries and directory (published with Android's APK signature v2). */
const signingBlockMagic = 'APK Sig Block 42';

/** What lies between entries: a data descriptor where one must be, and nothing that no directory names. */
export function checkGap(
  gap: Gap,
  before: CentralRecord | undefined,
  local: LocalHeader | undefined,
): readonly Finding[] {
  if (before === undefined || local === undefined) return checkRest(gap, 0, before);
  const found: Finding[] = [];
  const promised = (local.flags & flagBits.descriptor) !== 0;
  const descriptor = readDataDescriptor(gap.head, before, gap.length);
  const agrees =
    descriptor !== undefined &&
    descriptor.crc32 === before.crc32 &&
    descriptor.compressedBytes === before.compressedBytes &&
    descriptor.bytes === before.bytes;
  const subject = before.name.shown;
  if (promised && descriptor === undefined) {
    found.push(finding('archive/descriptor-missing', subject, { offset: gap.at }));
  } else if (promised && !agrees) {
    found.push(finding('archive/descriptor-disagrees', subject, { offset: gap.at }));
  }
  const usedBytes = agrees || promised ? (descriptor?.length ?? 0) : 0;
  return [...found, ...checkRest(gap, usedBytes, before)];
}

function checkRest(gap: Gap, usedBytes: number, before: CentralRecord | undefined): readonly Finding[] {
  const length = gap.length - usedBytes;
  if (length === 0) return [];
  const subject = before?.name.shown ?? '';
  const facts = { offset: gap.at + usedBytes, bytes: length };
  const found: Finding[] = [];
  if (gap.hiddenHeaderAt !== undefined) {
    found.push(finding('archive/hidden-entry', subject, { offset: gap.hiddenHeaderAt }));
  }
  if (gap.at === 0) {
    const mark = gap.length === 4 && viewOf(gap.head).getUint32(0, true) === singlePartSignature;
    return mark ? found : [...found, finding('archive/bytes-before-first', subject, { bytes: length })];
  }
  if (isSigningBlock(gap)) return found;
  const zeros = gap.zeroAfterHead && gap.head.subarray(usedBytes).every((byte) => byte === 0);
  return [
    ...found,
    zeros ? finding('archive/padding', subject, facts) : finding('archive/unnamed-bytes', subject, facts),
  ];
}

const isSigningBlock = (gap: Gap): boolean =>
  String.fromCharCode(...gap.last.subarray(-signingBlockMagic.length)) === signingBlockMagic;
