import type { FileSystem } from '../model/stick-facts.ts';
import { type FatGeometry, readFatGeometry } from './fat-geometry.ts';

/** How much of a volume's start `recogniseVolume` looks at. */
export const volumeHeadBytes = 36_864;

export interface RecognisedVolume {
  readonly fileSystem: FileSystem;
  /** Present for a sound FAT boot sector. */
  readonly fat: FatGeometry | undefined;
  /** Why something that looks like FAT is not usable, as the end of a sentence about its boot sector. */
  readonly problem: string | undefined;
}

interface Signature {
  readonly fileSystem: FileSystem;
  readonly at: number;
  readonly bytes: string;
}

/**
 * Each with the document that fixes it; the ones of encryption come first because they disguise themselves as others.
 */
const signatures: readonly Signature[] = [
  { fileSystem: 'bitlocker', at: 3, bytes: '-FVE-FS-' }, // libbde documentation, "Volume header", offset 3
  { fileSystem: 'bitlocker', at: 424, bytes: bytesOfGuid('4967d63b-2e29-4ad8-8399-f6a339e3d001') }, // same, "BitLocker To Go"
  { fileSystem: 'luks', at: 0, bytes: 'LUKS\xba\xbe' }, // LUKS on-disk format 1.2.3, section 2.1
  { fileSystem: 'exfat', at: 3, bytes: 'EXFAT   ' }, // exFAT specification 3.1.2
  { fileSystem: 'ntfs', at: 3, bytes: 'NTFS    ' }, // common practice: the OEM ID that every reader goes by
  { fileSystem: 'apfs', at: 32, bytes: 'NXSB' }, // Apple File System Reference, nx_superblock_t
  { fileSystem: 'hfs+', at: 1024, bytes: 'H+\x00\x04' }, // Apple TN1150, "Volume Header": HFS+, version 4
  { fileSystem: 'hfs+', at: 1024, bytes: 'HX\x00\x05' }, // same: HFSX, version 5
  // Linux Documentation/filesystems/ext4: superblock at 1024, s_magic at 56
  { fileSystem: 'ext', at: 1080, bytes: '\x53\xef' },
  { fileSystem: 'iso9660', at: 32_769, bytes: 'CD001' }, // ECMA-119, 8.1.2, in sector 16
  { fileSystem: 'other', at: 0, bytes: 'XFSB' }, // XFS
  { fileSystem: 'other', at: 32_769, bytes: 'BEA01' }, // UDF, ECMA-167 part 2, 9.2
  { fileSystem: 'other', at: 1024, bytes: 'BD' }, // HFS, the old one
  { fileSystem: 'other', at: 1024, bytes: '\x10\x20\xf5\xf2' }, // F2FS
];

/** What the start of a volume says it is. HEAD is its first `volumeHeadBytes` bytes, or as many as there are. */
export function recogniseVolume(head: Uint8Array): RecognisedVolume {
  // A FAT volume keeps whatever an earlier file system left behind the first sector, so FAT is asked before those.
  const front = signatures.find((signature) => signature.at < 512 && holds(head, signature));
  if (front !== undefined) return { fileSystem: front.fileSystem, fat: undefined, problem: undefined };
  const reading = readFatGeometry(head);
  if (reading.outcome === 'fat') {
    return { fileSystem: reading.geometry.kind, fat: reading.geometry, problem: undefined };
  }
  const behind = signatures.find((signature) => signature.at >= 512 && holds(head, signature));
  if (behind !== undefined) return { fileSystem: behind.fileSystem, fat: undefined, problem: undefined };
  return {
    fileSystem: 'unknown',
    fat: undefined,
    problem: reading.outcome === 'damaged' ? reading.problem : undefined,
  };
}

/**
 * What else the start of a FAT volume says it is, in the space before its table that FAT leaves to anyone: another
 * reader may go by that.
 */
export function behindFat(head: Uint8Array): FileSystem | undefined {
  const reading = readFatGeometry(head);
  if (reading.outcome !== 'fat') return undefined;
  const { reservedSectors, sectorBytes } = reading.geometry;
  return signatures.find(
    (one) => one.at >= 512 && one.at + one.bytes.length <= reservedSectors * sectorBytes && holds(head, one),
  )?.fileSystem;
}

function holds(head: Uint8Array, { at, bytes }: Signature): boolean {
  if (at + bytes.length > head.length) return false;
  for (let index = 0; index < bytes.length; index++) if (head[at + index] !== bytes.charCodeAt(index)) return false;
  return true;
}

/** A GUID as it lies on disk: its first three groups little-endian (UEFI specification, appendix A). */
function bytesOfGuid(guid: string): string {
  const [a = '', b = '', c = '', ...rest] = guid.split('-');
  const flip = (group: string): string[] => (group.match(/../g) ?? []).reverse();
  const pairs = [...flip(a), ...flip(b), ...flip(c), ...(rest.join('').match(/../g) ?? [])];
  return pairs.map((pair) => String.fromCharCode(Number.parseInt(pair, 16))).join('');
}
