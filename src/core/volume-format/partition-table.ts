import type { Partition, PartitionTable } from '../model/stick-facts.ts';
import { recogniseVolume } from './boot-sector.ts';

/**
 * How much of a medium's start `readPartitionTable` looks at: the MBR, the GPT header and 128 entries, at 512 or 4,096
 * bytes a sector.
 */
export const tableHeadBytes = 36_864;

export interface TableReading {
  readonly table: PartitionTable;
  readonly partitions: readonly Partition[];
  /** Why the table cannot be trusted, each as the end of a sentence about it; empty where it is sound. */
  readonly problems: readonly string[];
}

const none: TableReading = { table: 'none', partitions: [], problems: [] };

/**
 * Reads the start of a medium of MEDIUM bytes in sectors of SECTOR bytes. An entry that is not sound is left out of
 * `partitions` and named in `problems`.
 */
export function readPartitionTable(head: Uint8Array, mediumBytes: number, sectorBytes = 512): TableReading {
  if (head.length < 512) return unknown('is missing: the medium is shorter than one sector');
  // A volume without a table also ends its first sector with 55 AA; its own signature in that sector tells them apart.
  if (recogniseVolume(head.subarray(0, 512)).fileSystem !== 'unknown') return none;
  const whole = recogniseVolume(head);
  const blank = whole.fileSystem === 'unknown' ? unknown() : none;
  if (head[510] !== 0x55 || head[511] !== 0xaa) return blank;
  if ([0, 1, 2, 3].some((index) => head[446 + index * 16 + 4] === protectiveType)) {
    return readGpt(head, mediumBytes) ?? unknown('has a protective entry and no GPT behind it');
  }
  const mbr = readMbr(head, mediumBytes, sectorBytes);
  if (mbr.partitions.length > 0) return mbr;
  // A damaged boot sector has code where a table would be, and a volume that starts later leaves this sector to anyone.
  return whole.problem === undefined && blank !== none ? mbr : blank;
}

/** UEFI specification 2.10, table 5.4: the type byte that says "the real table is a GPT". */
const protectiveType = 0xee;

const unknown = (...problems: readonly string[]): TableReading => ({ table: 'unknown', partitions: [], problems });

/**
 * Four entries of 16 bytes from 446: boot byte at 0, type at 4, first sector at 8, sectors at 12 (UEFI specification
 * 2.10, section 5.2.1).
 */
function readMbr(head: Uint8Array, mediumBytes: number, sectorBytes: number): TableReading {
  const view = new DataView(head.buffer, head.byteOffset, 512);
  const partitions: Partition[] = [];
  const problems: string[] = [];
  for (let index = 0; index < 4; index++) {
    const at = 446 + index * 16;
    const boot = view.getUint8(at);
    const type = view.getUint8(at + 4);
    const startByte = view.getUint32(at + 8, true) * sectorBytes;
    const bytes = view.getUint32(at + 12, true) * sectorBytes;
    if (type === 0 && bytes === 0) continue;
    const number = index + 1;
    const problem = entryProblem(boot, startByte, bytes, mediumBytes, partitions);
    if (problem === undefined) partitions.push({ number, type, startByte, bytes, bootable: boot === 0x80 });
    else problems.push(`entry ${number} ${problem}`);
  }
  return { table: 'mbr', partitions, problems };
}

function entryProblem(
  boot: number,
  startByte: number,
  bytes: number,
  mediumBytes: number,
  earlier: readonly Partition[],
): string | undefined {
  if (boot !== 0 && boot !== 0x80)
    return `has the boot byte ${boot.toString(16).padStart(2, '0')}; only 00 and 80 are defined`;
  if (startByte === 0 || bytes === 0) return 'has no place or no size';
  if (startByte + bytes > mediumBytes) return 'ends past the end of the medium';
  const other = earlier.find((one) => startByte < one.startByte + one.bytes && one.startByte < startByte + bytes);
  return other === undefined ? undefined : `overlaps entry ${other.number}`;
}

/**
 * GPT behind a protective entry (UEFI specification 2.10, section 5.3.2): `EFI PART` in sector 1, entries' sector at
 * 72, count at 80, size at 84; an entry has its type at 0, first and last sector at 32 and 40.
 */
function readGpt(head: Uint8Array, mediumBytes: number): TableReading | undefined {
  const sectorBytes = [512, 4096].find((bytes) => textAt(head, bytes, 8) === 'EFI PART');
  if (sectorBytes === undefined) return undefined;
  const view = new DataView(head.buffer, head.byteOffset, head.length);
  const count = view.getUint32(sectorBytes + 80, true);
  const entryBytes = view.getUint32(sectorBytes + 84, true);
  const firstEntry = Number(view.getBigUint64(sectorBytes + 72, true)) * sectorBytes;
  if (entryBytes < 128 || entryBytes > 4096 || count > 1024 || firstEntry < 2 * sectorBytes) {
    return { table: 'gpt', partitions: [], problems: [`states ${count} entries of ${entryBytes} bytes`] };
  }
  const partitions: Partition[] = [];
  const problems: string[] = [];
  for (let index = 0; index < count; index++) {
    const at = firstEntry + index * entryBytes;
    if (at + 48 > head.length) break;
    if (head.subarray(at, at + 16).every((byte) => byte === 0)) continue;
    const startByte = Number(view.getBigUint64(at + 32, true)) * sectorBytes;
    const endByte = (Number(view.getBigUint64(at + 40, true)) + 1) * sectorBytes;
    const number = index + 1;
    const problem = entryProblem(0, startByte, Math.max(0, endByte - startByte), mediumBytes, partitions);
    if (problem === undefined) {
      partitions.push({ number, type: undefined, startByte, bytes: endByte - startByte, bootable: false });
    } else problems.push(`entry ${number} ${problem}`);
  }
  return { table: 'gpt', partitions, problems };
}

const textAt = (bytes: Uint8Array, offset: number, length: number): string =>
  String.fromCharCode(...bytes.subarray(offset, offset + length));
