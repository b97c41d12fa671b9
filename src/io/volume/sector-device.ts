import type { ReadBackKind } from './volume.ts';

/** The unit in which a device is addressed. Media with larger sectors are reached through the operating system's cache. */
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
   * Returns when no more than so many bytes are still to be carried out; absent where a write returns when it was. Throws what
   * an earlier write met.
   */
  room?(waitingBytes: number): Promise<void>;
  /** Returns when every write so far is on the medium, as far as the operating system can say. */
  flush(): Promise<void>;
  close(): Promise<void>;
}

/** A second way to the same medium, past whatever the first one keeps in memory. */
export interface FreshDevice {
  readonly device: SectorDevice;
  readonly readBack: ReadBackKind;
  /** How another thread opens it for reading; undefined where it is nothing of the operating system's. */
  readonly way?: { readonly path: string; readonly flags: number };
}

/** Memory that starts at a page, which is what a direct read wants and a Buffer does not promise, and that goes back to the system. */
export const allocateAligned = (bytes: number): Uint8Array =>
  new Uint8Array(new webAssembly.Memory({ initial: Math.ceil(bytes / 65_536) }).buffer).subarray(0, bytes);

/** As much of the language's WebAssembly as is used here; it is in no library of types that Node code uses. */
interface WebAssemblyHost {
  readonly Memory: new (pages: { readonly initial: number }) => { readonly buffer: ArrayBuffer };
  compile(bytes: Uint8Array): Promise<object>;
  instantiate(module: object, imports: object): Promise<object>;
}

export const webAssembly = (globalThis as unknown as { readonly WebAssembly: WebAssemblyHost }).WebAssembly;
