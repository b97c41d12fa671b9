import * as FatFs from 'js-fatfs';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import type { SectorDevice } from '../sector-device.ts';
import { createFatFs } from './create-fatfs.ts';
import { fatResultError } from './fat-result.ts';
import { SectorTraffic } from './sector-traffic.ts';

type Pointer = number;

/** One FatFs instance on one volume: its memory, its mount, and what its results mean. */
export class FatFsSession {
  readonly ff: FatFs.FatFs;
  readonly device: SectorDevice;
  readonly geometry: FatGeometry;
  readonly #traffic: SectorTraffic;
  readonly #work: Pointer;

  private constructor(ff: FatFs.FatFs, device: SectorDevice, geometry: FatGeometry, traffic: SectorTraffic) {
    this.ff = ff;
    this.device = device;
    this.geometry = geometry;
    this.#traffic = traffic;
    this.#work = this.allocate(FatFs.sizeof_FATFS);
  }

  /** FREE CLUSTERS is counted from the table; an instance that only reads may be told anything. */
  static async open(
    device: SectorDevice,
    geometry: FatGeometry,
    freeClusters: number,
    at?: string,
  ): Promise<FatFsSession> {
    let ff: FatFs.FatFs | undefined;
    const traffic = new SectorTraffic(device, geometry, () => {
      if (ff === undefined) throw new Error('FatFs asked for a sector before it was there');
      return ff;
    });
    ff = await createFatFs(traffic.diskio, at);
    const session = new FatFsSession(ff, device, geometry, traffic);
    session.mount(freeClusters);
    return session;
  }

  /** Forgets everything that was read, and starts again. */
  mount(freeClusters: number): void {
    this.#traffic.reset(freeClusters);
    this.check(this.ff.f_mount(this.#work, '', 1), 'read', 'the volume');
  }

  close(): void {
    this.ff.f_mount(0, '', 0);
    this.ff.free(this.#work);
  }

  allocate(bytes: number): Pointer {
    const pointer = this.ff.malloc(bytes);
    if (pointer === 0) throw new Error(`no memory for ${bytes} bytes`);
    return pointer;
  }

  /** Runs USE with memory that is given back whatever happens. */
  withMemory<T>(bytes: number, use: (pointer: Pointer) => T): T {
    const pointer = this.allocate(bytes);
    try {
      return use(pointer);
    } finally {
      this.ff.free(pointer);
    }
  }

  /** Runs a FatFs read or write whose data lies in [pointer, pointer + bytes), in as few calls of the device as can be. */
  bulk(pointer: Pointer, bytes: number, operation: () => number): number {
    return this.#traffic.bulk(pointer, bytes, operation);
  }

  /** Turns a FatFs result into nothing or a throw; a fault of the device is thrown as the device threw it. */
  check(result: number, doing: 'read' | 'write', subject: string): void {
    const fault = this.#traffic.takeFault();
    if (fault !== undefined) throw fault.error;
    if (result !== FatFs.FR_OK) throw fatResultError(result, doing, subject);
  }

  /** For a caller that was told before and only lets go. */
  clearFault(): void {
    this.#traffic.takeFault();
  }

  /** After a failed write nobody knows what the medium holds, so nothing more is written to it. */
  checkWritable(): void {
    this.#traffic.checkWritable();
  }

  /** A write that FatFs believes in did not reach the device. */
  fail(error: unknown): void {
    this.#traffic.fail(error);
  }

  get hasFailed(): boolean {
    return this.#traffic.hasFailed;
  }
}
