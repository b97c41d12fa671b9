/** One slot of 32 bytes, or a name over several (FAT specification 1.03, sections 6 and 7). */
export interface Slot {
  readonly kind: 'file' | 'folder' | 'label' | 'deleted' | 'dot';
  /** The long name where there is a whole one, else the short name. */
  readonly name: string;
  /** Eleven bytes of the short name, as they lie there. */
  readonly short: string;
  readonly startCluster: number;
  readonly bytes: number;
  /** The short name holds what no short name may. */
  readonly nameInvalid: boolean;
  /** As it lies there, with the two bits that nobody defined. */
  readonly attributes: number;
  /**
   * Bits are set, here or in the slots of its long name, that no system sets: readers differ in which of them they
   * mind.
   */
  readonly odd: boolean;
}

interface LongName {
  readonly parts: string[];
  readonly checksum: number;
  /** The number that the next slot must have. */
  expected: number;
  odd: boolean;
}

/** Reads a folder slot by slot, over cluster borders; `orphans` counts long-name slots that belong to no name. */
export class SlotReader {
  orphans = 0;
  /** Slots that hold what their kind must not. */
  damaged = 0;
  /**
   * Labels with a place of their own, and dot slots that are no folders: Linux refuses such a folder, and a repair
   * frees what lies there.
   */
  misplaced = 0;
  ended = false;
  /** Slots behind the one that ends the folder that are not empty. */
  afterEnd = 0;
  /**
   * Those of them that are in use to a reader that goes on behind the end, as Linux (fs/fat/dir.c: such a slot is only
   * free) and fsck.fat do.
   */
  namesAfterEnd = 0;
  #long: LongName | undefined;

  /** The names in BYTES; a name's slots may have begun in an earlier call. */
  *read(bytes: Uint8Array): Iterable<Slot> {
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    for (let at = 0; at + 32 <= bytes.length; at += 32) {
      const first = view.getUint8(at);
      if (this.ended) {
        if (first !== 0) this.afterEnd++;
        if (first !== 0 && first !== 0xe5) this.namesAfterEnd++;
        continue;
      }
      if (first === 0) {
        this.ended = true;
        this.finish();
        continue;
      }
      const attributes = view.getUint8(at + 11) & 0x3f;
      if (first === 0xe5) {
        this.finish();
        if (attributes !== 0x0f) yield slotOf(view, at, 'deleted', undefined);
      } else if (attributes === 0x0f) this.#readLong(view, at);
      else yield this.#readShort(view, at, attributes);
    }
  }

  /** To be called when the folder has ended: slots that waited for their short name wait in vain. */
  finish(): void {
    if (this.#long !== undefined) this.orphans++;
    this.#long = undefined;
  }

  /** Order at 0 (0x40 marks the last part, which comes first), checksum at 13, letters at 1, 14 and 28. */
  #readLong(view: DataView, at: number): void {
    const order = view.getUint8(at);
    const number = order & 0x3f;
    const checksum = view.getUint8(at + 13);
    if (view.getUint16(at + 26, true) !== 0) this.damaged++; // LDIR_FstClusLO
    if ((order & 0x40) !== 0) {
      this.finish();
      this.#long = { parts: [], checksum, expected: number, odd: false };
    }
    const long = this.#long;
    if (long === undefined || number === 0 || number > 20 || long.expected !== number || long.checksum !== checksum) {
      if (long === undefined) this.orphans++;
      this.finish();
      return;
    }
    long.parts.unshift(lettersOf(view, at));
    long.expected--;
    long.odd ||= isOddLong(view, at, (order & 0x40) !== 0);
  }

  #readShort(view: DataView, at: number, attributes: number): Slot {
    const long = this.#long;
    this.#long = undefined;
    const isWhole = long !== undefined && long.expected === 0 && long.checksum === checksumOf(view, at);
    if (long !== undefined && !isWhole) this.orphans++;
    const name = isWhole ? long.parts.join('').split('\u0000')[0] : undefined;
    const short = shortOf(view, at);
    const isDot = /^\.\.? *$/.test(short);
    const isLabel = (attributes & 0x08) !== 0;
    const isNoFolder = isDot && (attributes & 0x18) !== 0x10; // section 6.5: both are folders
    if (isNoFolder || (isLabel && isDamagedLabel(view, at, attributes))) this.damaged++;
    if (isNoFolder || (isLabel && hasPlace(view, at, attributes))) this.misplaced++;
    const kind = isLabel ? 'label' : isDot ? 'dot' : (attributes & 0x10) !== 0 ? 'folder' : 'file';
    const slot = slotOf(view, at, kind, name);
    return isWhole && long.odd ? { ...slot, odd: true } : slot;
  }
}

/**
 * "Long Directory Entries": no bit of the order but 0x40 and the number, attributes 0F and no others, type 0, no first
 * cluster; letters up to one 0000, and FFFF behind it. Linux, mtools and FatFs each let something else of it pass.
 */
function isOddLong(view: DataView, at: number, isLast: boolean): boolean {
  const units = letterPlaces.map((place) => view.getUint16(at + place, true));
  const end = units.indexOf(0);
  const letters = end < 0 ? units : units.slice(0, end);
  const rest = end < 0 ? [] : units.slice(end + 1);
  return (
    (view.getUint8(at) & 0xa0) !== 0 ||
    view.getUint8(at + 11) !== 0x0f ||
    view.getUint8(at + 12) !== 0 ||
    view.getUint16(at + 26, true) !== 0 ||
    letters.length === 0 ||
    letters.includes(0xffff) ||
    rest.some((unit) => unit !== 0xffff) ||
    (end >= 0 && !isLast)
  );
}

/**
 * A label has no other attribute but "archive", no place, no size, and no signs that a name may not hold ("Volume
 * Label").
 */
const isDamagedLabel = (view: DataView, at: number, attributes: number): boolean =>
  (attributes & 0x17) !== 0 ||
  hasPlace(view, at, attributes) ||
  /[\u0000-\u001f"*+,./:;<=>?[\\\]|\u007f\u00ff]/.test(shortOf(view, at));

const hasPlace = (view: DataView, at: number, attributes: number): boolean =>
  (attributes & 0x10) !== 0 ||
  view.getUint16(at + 20, true) !== 0 ||
  view.getUint16(at + 26, true) !== 0 ||
  view.getUint32(at + 28, true) !== 0;

/** Start at 20 and 26, size at 28 ("Directory Structure"). The caller masks the upper half away on FAT12 and FAT16. */
function slotOf(view: DataView, at: number, kind: Slot['kind'], longName: string | undefined): Slot {
  const short = shortOf(view, at);
  return {
    kind,
    name: longName ?? spelled(short),
    short,
    startCluster: view.getUint16(at + 20, true) * 0x10000 + view.getUint16(at + 26, true),
    bytes: view.getUint32(at + 28, true),
    nameInvalid: kind !== 'label' && kind !== 'dot' && kind !== 'deleted' && isInvalid(short),
    attributes: view.getUint8(at + 11),
    // Attributes have six bits; of byte 12 Windows, Linux and FatFs use 0x08 and 0x10, for a name all in lower case.
    odd: (view.getUint8(at + 11) & 0xc0) !== 0 || (view.getUint8(at + 12) & 0xe7) !== 0,
  };
}

const shortOf = (view: DataView, at: number): string =>
  Array.from({ length: 11 }, (_, index) => String.fromCharCode(view.getUint8(at + index))).join('');

/** `UPDATE  ZIP` as `UPDATE.ZIP`; 0x05 stands for 0xE5, and a deleted name has lost its first letter. */
function spelled(short: string): string {
  const base = short
    .slice(0, 8)
    .trimEnd()
    .replace(/^\u0005/, '\u00e5')
    .replace(/^\u00e5/, '?');
  const extension = short.slice(8).trimEnd();
  return extension === '' ? base : `${base}.${extension}`;
}

/**
 * "Short Directory Entries": no control characters, no lower case, no signs that the specification forbids, no leading
 * space.
 */
const isInvalid = (short: string): boolean =>
  /[\u0000-\u0004\u0006-\u001f"*+,./:;<=>?[\\\]|a-z\u007f]/.test(short) ||
  short.startsWith(' ') ||
  /^ *$/.test(short.slice(0, 8)) ||
  short.slice(1).includes('\u0005');

/** "Generating the checksum": rotate right, add, over the eleven bytes. */
function checksumOf(view: DataView, at: number): number {
  let sum = 0;
  for (let index = 0; index < 11; index++) sum = (((sum & 1) << 7) + (sum >> 1) + view.getUint8(at + index)) & 0xff;
  return sum;
}

const letterPlaces = [1, 3, 5, 7, 9, 14, 16, 18, 20, 22, 24, 28, 30];

const lettersOf = (view: DataView, at: number): string =>
  String.fromCharCode(
    ...letterPlaces.map((place) => view.getUint16(at + place, true)).filter((unit) => unit !== 0xffff),
  );
