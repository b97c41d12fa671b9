import { allocateAligned, deviceSectorBytes, type SectorDevice } from './sector-device.ts';

/**
 * Carries one write out elsewhere; called for one write at a time, in order. The bytes stay as they are until it has
 * ended.
 */
export type WriteAside = (first: number, from: Uint8Array) => Promise<void>;

interface Waiting {
  readonly first: number;
  readonly bytes: Uint8Array;
}

/** Blocks of this size are what files are written in, and are used again. */
const blockBytes = 2 ** 18;
/**
 * A smaller write costs less than handing it over, so it is made at once where none waits before it and the last ones
 * were quick.
 */
const worthWaitingBytes = 65_536;
/**
 * The system's memory takes a small write in a tenth of this; what goes around it, as raw drives do on some systems,
 * does not.
 */
const usuallyQuickMs = 0.1;
/** After so many small writes that were handed over, one is made at once again, to see. */
const tryAgainAfter = 64;

/**
 * A device whose writes are carried out in their order while the caller goes on, so that a stick that is slow to take
 * them does not hold up the others. Reads see what was written. After a write that failed behind its caller no other is
 * carried out; the failure comes out of the next write, `catchUp` or `flush`.
 */
export class WriteBehind implements SectorDevice {
  readonly sizeBytes: number;
  readonly readOnly: boolean;
  readonly #device: SectorDevice;
  readonly #write: WriteAside;
  readonly #behindBytes: number;
  readonly #quickMs: number;
  readonly #spare: Uint8Array[] = [];
  #waiting: Waiting[] = [];
  #waitingBytes = 0;
  #working: Promise<void> | undefined;
  #whenLess: (() => void)[] = [];
  #failure: { readonly error: unknown } | undefined;
  /** How many small writes running were not quick. One may only mean that this thread had to wait for its turn. */
  #slow = 0;
  #handedOver = 0;

  /**
   * WRITE stands in for the device's own `writeSectors`; what is smaller than BEHIND BYTES need not wait, while it
   * takes less than QUICK MS.
   */
  constructor(device: SectorDevice, write: WriteAside, behindBytes = worthWaitingBytes, quickMs = usuallyQuickMs) {
    this.#device = device;
    this.#write = write;
    this.#behindBytes = behindBytes;
    this.#quickMs = quickMs;
    this.sizeBytes = device.sizeBytes;
    this.readOnly = device.readOnly;
  }

  readSectors(first: number, into: Uint8Array): void {
    this.#device.readSectors(first, into);
    for (const { first: at, bytes } of this.#waiting) copyOverlap(at, bytes, first, into);
  }

  writeSectors(first: number, from: Uint8Array): void {
    this.#throwFailure();
    const isSmall = from.length < this.#behindBytes;
    if (this.#working === undefined && isSmall && this.#slow < 2) {
      const started = performance.now();
      this.#device.writeSectors(first, from);
      this.#slow = performance.now() - started < this.#quickMs ? 0 : this.#slow + 1;
      return;
    }
    if (isSmall && ++this.#handedOver % tryAgainAfter === 0) this.#slow = 1;
    const bytes =
      from.length === blockBytes ? (this.#spare.pop() ?? allocateAligned(blockBytes)) : new Uint8Array(from.length);
    bytes.set(from);
    this.#waiting.push({ first, bytes });
    this.#waitingBytes += bytes.length;
    this.#working ??= this.#work();
  }

  async catchUp(waitingBytes: number): Promise<void> {
    while (this.#waitingBytes > waitingBytes) await new Promise<void>((resolve) => this.#whenLess.push(resolve));
    this.#throwFailure();
  }

  async flush(): Promise<void> {
    await this.#working;
    this.#spare.length = 0; // whoever flushes has nothing more to write for a while
    this.#throwFailure();
    await this.#device.flush();
  }

  async close(): Promise<void> {
    await this.#working;
    await this.#device.close();
  }

  async #work(): Promise<void> {
    for (let next = this.#waiting[0]; next !== undefined; next = this.#waiting[0]) {
      try {
        await this.#write(next.first, next.bytes);
      } catch (error) {
        this.#failure = { error };
        this.#waiting = [];
        this.#waitingBytes = 0;
        break;
      }
      this.#waiting.shift();
      this.#waitingBytes -= next.bytes.length;
      if (next.bytes.length === blockBytes) this.#spare.push(next.bytes);
      this.#wake();
    }
    this.#working = undefined;
    this.#wake();
  }

  #wake(): void {
    const waiting = this.#whenLess;
    this.#whenLess = [];
    for (const go of waiting) go();
  }

  #throwFailure(): void {
    if (this.#failure !== undefined) throw this.#failure.error;
  }
}

/** Puts into INTO, which begins at sector FIRST, what BYTES, which begin at sector AT, have of it. */
export function copyOverlap(at: number, bytes: Uint8Array, first: number, into: Uint8Array): void {
  const from = Math.max(at, first);
  const end = Math.min(at + bytes.length / deviceSectorBytes, first + into.length / deviceSectorBytes);
  if (from >= end) return;
  const part = bytes.subarray((from - at) * deviceSectorBytes, (end - at) * deviceSectorBytes);
  into.set(part, (from - first) * deviceSectorBytes);
}
