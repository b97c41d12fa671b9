import type { Allocation } from './exfat-volume.ts';

/** A file or folder as its set of entries tells of it. */
export interface ExfatSet {
  readonly kind: 'file' | 'folder';
  readonly name: string;
  /** As the volume's own up-case table has it. */
  readonly upper: string;
  readonly attributes: number;
  readonly allocation: Allocation;
  /** What lies behind it reads as zeros (7.6.5), where the reader knows of that. */
  readonly validBytes: number;
  /** Clusters of vendors' own entries (7.9). */
  readonly others: readonly Allocation[];
  /** Something in it that a reader may mind, although the name can be read. */
  readonly odd: boolean;
  readonly nameInvalid: boolean;
}

/** Entries of the root folder that are about the volume. */
export type ExfatRootEntry =
  | { readonly kind: 'bitmap'; readonly second: boolean; readonly allocation: Allocation }
  | { readonly kind: 'upcase'; readonly checksum: number; readonly allocation: Allocation }
  /** LETTERS is what it states. */
  | { readonly kind: 'label'; readonly label: string; readonly letters: number };

const types = { end: 0, bitmap: 0x81, upcase: 0x82, label: 0x83, file: 0x85, stream: 0xc0, name: 0xc1, vendor: 0xe1 };
const bits = { inUse: 0x80, secondary: 0x40, benign: 0x20 };
const unitsPerEntry = 15;

/** Reads a folder's entries of 32 bytes (section 6) in pieces, and counts those that make up no set. */
export class SetReader {
  readonly #upCase: (unit: number) => number;
  readonly #isRoot: boolean;
  #entries: Uint8Array[] = [];
  #wanted = 0;
  #ended = false;
  damaged = 0;
  /** 6.2.1: behind the first end there are only ends. */
  afterEnd = 0;

  constructor(isRoot: boolean, upCase: (unit: number) => number) {
    this.#isRoot = isRoot;
    this.#upCase = upCase;
  }

  /** The last name is read; clusters of up to 32 MiB hold nothing behind it. */
  get hasEnded(): boolean {
    return this.#ended;
  }

  *read(piece: Uint8Array): Iterable<ExfatSet | ExfatRootEntry> {
    for (let at = 0; at + 32 <= piece.length; at += 32) {
      const type = piece[at] ?? 0;
      if (this.#ended) {
        if (type !== types.end) this.afterEnd++;
        continue;
      }
      const item = this.#take(type, piece.subarray(at, at + 32));
      if (item !== undefined) yield item;
    }
  }

  /** Call behind the last piece. */
  finish(): void {
    if (this.#wanted > 0) this.damaged++;
    this.#wanted = 0;
  }

  #take(type: number, entry: Uint8Array): ExfatSet | ExfatRootEntry | undefined {
    const isSecondary = (type & bits.inUse) !== 0 && (type & bits.secondary) !== 0;
    if (this.#wanted > 0 && isSecondary) {
      this.#entries.push(entry.slice());
      this.#wanted--;
      return this.#wanted === 0 ? this.#close() : undefined;
    }
    this.finish(); // a set that breaks off (6.2.1: only regular entries inside of it)
    if (type === types.end) this.#ended = true;
    if ((type & bits.inUse) === 0) return undefined;
    const view = new DataView(entry.buffer, entry.byteOffset, 32);
    if (type === types.file) {
      this.#entries = [entry.slice()];
      this.#wanted = view.getUint8(1);
      if (this.#wanted === 0) this.damaged++;
      return undefined;
    }
    const known = this.#isRoot ? rootEntry(type, view) : undefined;
    // 6.3.1.2: others that are critical belong nowhere; benign ones may be passed over, with what follows them.
    if (known === undefined && !(type & bits.benign && !isSecondary)) this.damaged++;
    if (known === undefined && type & bits.benign && !isSecondary) this.#passOver(view.getUint8(1));
    return known;
  }

  #passOver(count: number): void {
    this.#entries = [];
    this.#wanted = count;
  }

  #close(): ExfatSet | undefined {
    const [file, stream, ...rest] = this.#entries;
    if (file?.[0] !== types.file) return undefined; // a benign set
    if (stream?.[0] !== types.stream) {
      this.damaged++;
      return undefined;
    }
    return readSet(file, stream, rest, this.#upCase);
  }
}

/**
 * CharacterCount of a label is at most 11 (7.3.2); some formatters use the reserved bytes behind for 15, and exfat-fuse
 * 1.3.0 mounts nothing with more.
 */
export const mostLetters = 15;

/** 7.1, 7.2 and 7.3; undefined for any other. */
function rootEntry(type: number, view: DataView): ExfatRootEntry | undefined {
  const allocation = { ...allocationAt(view), contiguous: false };
  if (type === types.bitmap) return { kind: 'bitmap', second: (view.getUint8(1) & 1) === 1, allocation };
  if (type === types.upcase) return { kind: 'upcase', checksum: view.getUint32(4, true), allocation };
  if (type !== types.label) return undefined;
  const letters = view.getUint8(1);
  const units = Array.from({ length: Math.min(mostLetters, letters) }, (_, at) => view.getUint16(2 + at * 2, true));
  return { kind: 'label', label: String.fromCharCode(...units), letters };
}

/** 6.4.3 and 6.4.4: FirstCluster at 20, DataLength at 24. */
const allocationAt = (view: DataView): Pick<Allocation, 'start' | 'bytes'> => ({
  start: view.getUint32(20, true),
  bytes: Number(view.getBigUint64(24, true)),
});

function readSet(
  file: Uint8Array,
  stream: Uint8Array,
  rest: readonly Uint8Array[],
  upCase: (unit: number) => number,
): ExfatSet {
  const head = new DataView(file.buffer);
  const view = new DataView(stream.buffer);
  const attributes = head.getUint16(4, true); // FileAttributes, 7.4.4
  const isFolder = (attributes & 0x10) !== 0;
  const flags = view.getUint8(1);
  const length = view.getUint8(3); // NameLength, 7.6.3
  const named = Math.ceil(length / unitsPerEntry);
  const parts = rest.slice(0, named).filter(([type]) => type === types.name);
  const units = parts.flatMap((part) => unitsOf(part)).slice(0, length);
  const upper = units.map(upCase);
  const plain = allocationAt(view);
  const allocation: Allocation = { ...plain, contiguous: (flags & 2) !== 0 && plain.bytes > 0 };
  const valid = Number(view.getBigUint64(8, true)); // ValidDataLength, 7.6.5
  const name = String.fromCharCode(...units);
  return {
    kind: isFolder ? 'folder' : 'file',
    name,
    upper: String.fromCharCode(...upper),
    attributes,
    allocation,
    validBytes: valid,
    others: rest.flatMap(vendorAllocation),
    odd:
      checksumOf([file, stream, ...rest]) !== head.getUint16(2, true) || // SetChecksum, 6.3.3
      hashOf(upper) !== view.getUint16(4, true) || // NameHash, 7.6.4
      length === 0 ||
      parts.length !== named ||
      rest.slice(named).some(([type = 0]) => (type & bits.benign) === 0) ||
      (flags & 1) === 0 || // AllocationPossible, 7.6.2.1
      (isFolder ? valid !== plain.bytes : valid > plain.bytes),
    nameInvalid: name === '.' || name === '..' || invalidUnit.test(name),
  };
}

/** 7.7.3, table 35. */
const invalidUnit = /["*/:<>?\\|\u0000-\u001f]/u;

const unitsOf = (part: Uint8Array): number[] => {
  const view = new DataView(part.buffer);
  return Array.from({ length: unitsPerEntry }, (_, at) => view.getUint16(2 + at * 2, true));
};

function vendorAllocation(entry: Uint8Array): Allocation[] {
  const view = new DataView(entry.buffer);
  const flags = view.getUint8(1);
  if (entry[0] !== types.vendor || (flags & 1) === 0) return [];
  return [{ ...allocationAt(view), contiguous: (flags & 2) !== 0 }];
}

/** Figure 2 of section 6.3.3: over all entries but the checksum's own two bytes. */
function checksumOf(entries: readonly Uint8Array[]): number {
  let sum = 0;
  for (const [index, entry] of entries.entries())
    for (let at = 0; at < 32; at++) if (index > 0 || (at !== 2 && at !== 3)) sum = rotated(sum, entry[at] ?? 0);
  return sum;
}

/** Figure 4 of section 7.6.4: over the up-cased name's bytes, low byte first. */
function hashOf(upper: readonly number[]): number {
  let sum = 0;
  for (const unit of upper) sum = rotated(rotated(sum, unit & 0xff), unit >>> 8);
  return sum;
}

const rotated = (sum: number, byte: number): number => (((sum & 1) << 15) + (sum >>> 1) + byte) & 0xffff;
