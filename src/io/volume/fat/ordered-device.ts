import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';
import { copyOverlap } from '../write-behind.ts';

interface Held {
  readonly first: number;
  readonly bytes: Uint8Array;
}

/**
 * What a cut in the middle of a rename leaves: both names, or none. Both can be told apart later, but a repair program
 * cuts one of them down to nothing, and who knows which.
 */
export type ChangeOrder = 'new-name-first' | 'old-name-first';

/**
 * A device on which a change of folders reaches the medium in the order in which FatFs makes it, whatever caches lie
 * between: a new folder is there before its name, a new name before the old one goes, a name goes before its clusters
 * are free. FatFs makes a change in one synchronous call, so its writes are held until it is over and then put down,
 * with a flush wherever one rests on those before it.
 */
export class OrderedDevice implements SectorDevice {
  readonly #device: SectorDevice;
  readonly #reservedEnd: number;
  readonly #tableEnd: number;
  #held: Held[] = [];
  #holding = false;
  /** The last content of each sector that was written, in the order in which they were first. */
  #once: Map<number, Uint8Array> | undefined;
  #failure: { readonly error: unknown } | undefined;

  /** DEVICE starts at the volume. */
  constructor(device: SectorDevice, { reservedSectors, fatCopies, fatSectors, sectorBytes }: FatGeometry) {
    this.#device = device;
    const scale = sectorBytes / deviceSectorBytes;
    this.#reservedEnd = reservedSectors * scale;
    this.#tableEnd = (reservedSectors + fatCopies * fatSectors) * scale;
  }

  get sizeBytes(): number {
    return this.#device.sizeBytes;
  }

  get readOnly(): boolean {
    return this.#device.readOnly;
  }

  /**
   * Runs CHANGE; when it returns, its writes are on their way in order. Where one fails, no later write is taken: FatFs
   * believes in it.
   */
  async inOrder<T>(change: () => T, order: ChangeOrder = 'new-name-first'): Promise<T> {
    this.#holding = true;
    try {
      const answer = change();
      await this.#putDown(order === 'new-name-first' ? this.#held : lastFolderWriteFirst(this.#held, this.#tableEnd));
      return answer;
    } catch (error) {
      this.#failure ??= { error };
      throw error;
    } finally {
      this.#holding = false;
      this.#held = [];
    }
  }

  /**
   * Runs CHANGE, which takes clusters for one file: names go down first and then the table from the file's start on,
   * each sector once. So wherever it is cut off, what is taken belongs to a name, and nobody has to guess whose it was.
   */
  fromItsStart<T>(change: () => T): T {
    return this.#runOnce(change, (sectors, tableEnd) => {
      const isName = ({ first }: Held): boolean => first >= tableEnd;
      return joined([...sectors.filter(isName), ...sectors.filter((held) => !isName(held))]);
    });
  }

  /** Runs CHANGE, which gives back the clusters of one file: the table from the file's end on, and then the name. */
  fromItsEnd<T>(change: () => T): T {
    return this.#runOnce(change, (sectors, tableEnd) => [
      ...sectors.filter(({ first }) => first < tableEnd).toReversed(),
      ...sectors.filter(({ first }) => first >= tableEnd),
    ]);
  }

  #runOnce<T>(change: () => T, order: (sectors: readonly Held[], tableEnd: number) => readonly Held[]): T {
    const once = new Map<number, Uint8Array>();
    this.#once = once;
    try {
      const answer = change();
      const sectors = [...once].map(([first, bytes]) => ({ first, bytes }));
      for (const { first, bytes } of order(sectors, this.#tableEnd)) this.#device.writeSectors(first, bytes);
      return answer;
    } catch (error) {
      this.#failure ??= { error };
      throw error;
    } finally {
      this.#once = undefined;
    }
  }

  readSectors(first: number, into: Uint8Array): void {
    this.#device.readSectors(first, into);
    if (this.#once !== undefined && this.#once.size > 0) {
      for (let at = 0; at < into.length; at += deviceSectorBytes) {
        const written = this.#once.get(first + at / deviceSectorBytes);
        if (written !== undefined) into.set(written, at);
      }
    }
    for (const held of this.#held) copyOverlap(held.first, held.bytes, first, into);
  }

  writeSectors(first: number, from: Uint8Array): void {
    if (this.#failure !== undefined) throw this.#failure.error;
    if (this.#once !== undefined) {
      for (let at = 0; at < from.length; at += deviceSectorBytes)
        this.#once.set(first + at / deviceSectorBytes, from.slice(at, at + deviceSectorBytes));
    } else if (this.#holding) this.#held.push({ first, bytes: from.slice() });
    else this.#device.writeSectors(first, from);
  }

  async catchUp(waitingBytes: number): Promise<void> {
    await this.#device.catchUp?.(waitingBytes);
  }

  flush(): Promise<void> {
    return this.#device.flush();
  }

  async close(): Promise<void> {}

  async #putDown(writes: readonly Held[]): Promise<void> {
    const down: Held[] = [];
    let isFolderWaiting = false;
    for (const held of writes) {
      if (isFolderWaiting && this.#restsOn(held, down)) {
        await this.#device.flush();
        isFolderWaiting = false;
      }
      this.#device.writeSectors(held.first, held.bytes);
      isFolderWaiting ||= held.first >= this.#tableEnd;
      down.push(held);
    }
  }

  /** A new folder's empty clusters and its first slots in them belong together, and the free count rests on nothing. */
  #restsOn(held: Held, down: readonly Held[]): boolean {
    if (held.first < this.#reservedEnd) return false;
    if (held.first < this.#tableEnd) return true;
    return !isEmpty(held) && !down.some((earlier) => isEmpty(earlier) && overlaps(earlier, held));
  }
}

/** Neighbours that follow each other go down in one write. The copies of the table stay one after the other. */
function joined(sectors: readonly Held[]): readonly Held[] {
  const runs: { first: number; parts: Uint8Array[] }[] = [];
  for (const { first, bytes } of sectors) {
    const run = runs.find((one) => one.first + one.parts.length === first);
    if (run === undefined) runs.push({ first, parts: [bytes] });
    else run.parts.push(bytes);
  }
  return runs.map(({ first, parts }) => ({ first, bytes: Buffer.concat(parts) }));
}

/** FatFs takes the old name away last. */
function lastFolderWriteFirst(writes: readonly Held[], tableEnd: number): readonly Held[] {
  const last = writes.findLastIndex(({ first }) => first >= tableEnd);
  const held = writes[last];
  return held === undefined ? writes : [held, ...writes.toSpliced(last, 1)];
}

const isEmpty = ({ bytes }: Held): boolean => bytes.every((byte) => byte === 0);
const endOf = ({ first, bytes }: Held): number => first + bytes.length / deviceSectorBytes;
const overlaps = (a: Held, b: Held): boolean => a.first < endOf(b) && b.first < endOf(a);
