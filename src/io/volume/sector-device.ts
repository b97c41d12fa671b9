import type { ReadBackKind } from './volume.ts';

/**
 * The unit in which a device is addressed. Media with larger sectors are reached through the operating system's cache.
 */
export const deviceSectorBytes = 512;

/**
 * A medium seen as sectors: the one place where a FAT volume touches the outside, so also the one place to record, cut,
 * tear or damage what it does. Reads and writes happen in the order of the calls.
 *
 * Throws ToolError `stick/read-failed`, `stick/write-failed`, `stick/gone`, `stick/read-only`; whatever else an
 * implementation throws reaches the caller of the volume unchanged.
 */
export interface SectorDevice {
  readonly sizeBytes: number;
  readonly readOnly: boolean;
  /** Fills INTO, whose length is a multiple of the sector size; never short. */
  readSectors(first: number, into: Uint8Array): void;
  writeSectors(first: number, from: Uint8Array): void;
  /**
   * Returns when no more than so many bytes are still to be carried out; absent where a write returns when it was.
   * Throws what an earlier write met.
   */
  catchUp?(waitingBytes: number): Promise<void>;
  /** Returns when every write so far is on the medium, as far as the operating system can say. */
  flush(): Promise<void>;
  close(): Promise<void>;
}

/** A second way to the same medium, past whatever the first one keeps in memory. */
export interface FreshDevice {
  readonly device: SectorDevice;
  readonly readBack: ReadBackKind;
  /**
   * Reads what lies from byte AT on while its caller goes on; returns how many bytes came, LEAST or more. AT and the
   * length are multiples of `directAlignment`, and INTO begins at a page. Absent where nobody waits for a read.
   */
  readonly readAside?: (at: number, into: Uint8Array, least: number) => Promise<number>;
}

/** Offsets, lengths and memory of a direct read are multiples of this, which is enough for every sector size in use. */
export const directAlignment = 4096;

/**
 * Memory that starts at a page, which is what a direct read wants and a Buffer does not promise, and that goes back to
 * the system.
 */
export const allocateAligned = (bytes: number): Uint8Array =>
  new Uint8Array(new webAssembly.Memory({ initial: Math.ceil(bytes / 65_536) }).buffer).subarray(0, bytes);

/** As much of the language's WebAssembly as is used here; it is in no library of types that Node code uses. */
interface WebAssemblyHost {
  readonly Memory: new (pages: { readonly initial: number }) => { readonly buffer: ArrayBuffer };
  compile(bytes: Uint8Array): Promise<object>;
  instantiate(module: object, imports: object): Promise<object>;
}

export const webAssembly = (globalThis as unknown as { readonly WebAssembly: WebAssemblyHost }).WebAssembly;
