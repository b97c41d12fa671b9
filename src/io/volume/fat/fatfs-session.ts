import * as FatFs from 'js-fatfs';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';
import { BlockCache } from './block-cache.ts';
import { createFatFs } from './create-fatfs.ts';
import { fatResultError } from './fat-result.ts';

type Pointer = number;

/** A run of sectors that FatFs asked for piece by piece and that goes to the device in one call. */
interface Run {
  readonly doing: 'read' | 'write';
  readonly sector: number;
  readonly pointer: Pointer;
  count: number;
}

/**
 * One FatFs instance on one volume: memory, mounting, and the sectors in between. FatFs moves data cluster by cluster; inside
 * `bulk` neighbouring pieces are gathered, in order, into one call of the device.
 */
export class FatFsSession {
  readonly ff: FatFs.FatFs;
  readonly device: SectorDevice;
  readonly geometry: FatGeometry;
  readonly #cache: BlockCache;
  readonly #work: Pointer;
  #freeClusters: number | undefined;
  #bulkStart = 0;
  #bulkEnd = 0;
  #run: Run | undefined;
  /** What the device threw; FatFs only hears "error" and unwinds, and then this is what the caller gets. */
  #fault: { readonly error: unknown } | undefined;
  #writeFault: { readonly error: unknown } | undefined;

  private constructor(ff: FatFs.FatFs, device: SectorDevice, geometry: FatGeometry) {
    this.ff = ff;
    this.device = device;
    this.geometry = geometry;
    this.#cache = new BlockCache(device);
    this.#work = this.allocate(FatFs.sizeof_FATFS);
  }

  /** FREE CLUSTERS, counted from the table, stands in for the volume's own note of it, which is often stale. */
  static async open(device: SectorDevice, geometry: FatGeometry, freeClusters: number): Promise<FatFsSession> {
    let session: FatFsSession | undefined;
    const whenReady = (): FatFsSession => {
      if (session === undefined) throw new Error('FatFs asked for a sector before it was mounted');
      return session;
    };
    const ff = await createFatFs({
      initialize: () => (device.readOnly ? FatFs.STA_PROTECT : 0),
      status: () => (device.readOnly ? FatFs.STA_PROTECT : 0),
      // Sector numbers past 2^31 arrive negative.
      read: (_, _drive, pointer, sector, count) => whenReady().#read(pointer, sector >>> 0, count),
      write: (_, _drive, pointer, sector, count) => whenReady().#write(pointer, sector >>> 0, count),
      ioctl: (_, _drive, command, pointer) => whenReady().#control(command, pointer),
    });
    session = new FatFsSession(ff, device, geometry);
    session.mount(freeClusters);
    return session;
  }

  /** Forgets everything that was read, and starts again. */
  mount(freeClusters: number): void {
    this.#freeClusters = freeClusters;
    this.#cache.clear();
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

  /** Runs a FatFs read or write whose data lies in [pointer, pointer + bytes), gathering its pieces. */
  bulk(pointer: Pointer, bytes: number, operation: () => number): number {
    this.#bulkStart = pointer;
    this.#bulkEnd = pointer + bytes;
    try {
      const result = operation();
      return this.#settle() === FatFs.RES_OK ? result : FatFs.FR_DISK_ERR;
    } finally {
      this.#bulkStart = 0;
      this.#bulkEnd = 0;
      this.#run = undefined;
    }
  }

  /** Turns a FatFs result into nothing or a throw; a fault of the device is thrown as the device threw it. */
  check(result: number, doing: 'read' | 'write', subject: string): void {
    const fault = this.#fault;
    this.#fault = undefined;
    if (fault !== undefined) throw fault.error;
    if (result !== FatFs.FR_OK) throw fatResultError(result, doing, subject);
  }

  /** For a caller that was told before and only lets go. */
  clearFault(): void {
    this.#fault = undefined;
  }

  /** After a failed write nobody knows what the medium holds, so nothing more is written to it. */
  checkWritable(): void {
    if (this.#writeFault !== undefined) throw this.#writeFault.error;
  }

  get hasFailed(): boolean {
    return this.#writeFault !== undefined;
  }

  #read(pointer: Pointer, sector: number, count: number): number {
    if (this.#isBulk(pointer)) return this.#gather('read', pointer, sector, count);
    const result = this.#transfer('read', pointer, sector, count);
    if (sector === this.geometry.fsInfoSector && result === FatFs.RES_OK && this.#freeClusters !== undefined) {
      this.ff.setValue(pointer + 488, this.#freeClusters, 'i32'); // FSI_Free_Count
    }
    return result;
  }

  #write(pointer: Pointer, sector: number, count: number): number {
    if (this.#isBulk(pointer)) return this.#gather('write', pointer, sector, count);
    if (this.#settle() !== FatFs.RES_OK) return FatFs.RES_ERROR; // the order of writes is kept
    return this.#transfer('write', pointer, sector, count);
  }

  #isBulk(pointer: Pointer): boolean {
    return pointer >= this.#bulkStart && pointer < this.#bulkEnd;
  }

  #gather(doing: 'read' | 'write', pointer: Pointer, sector: number, count: number): number {
    const run = this.#run;
    const follows =
      run !== undefined &&
      run.doing === doing &&
      run.sector + run.count === sector &&
      run.pointer + run.count * this.geometry.sectorBytes === pointer;
    if (follows) {
      run.count += count;
      return FatFs.RES_OK;
    }
    const settled = this.#settle();
    this.#run = { doing, sector, pointer, count };
    return settled;
  }

  #settle(): number {
    const run = this.#run;
    this.#run = undefined;
    return run === undefined ? FatFs.RES_OK : this.#transfer(run.doing, run.pointer, run.sector, run.count);
  }

  #transfer(doing: 'read' | 'write', pointer: Pointer, sector: number, count: number): number {
    const { sectorBytes } = this.geometry;
    const bytes = this.ff.HEAPU8.subarray(pointer, pointer + count * sectorBytes);
    const first = sector * (sectorBytes / deviceSectorBytes);
    try {
      if (doing === 'read') this.#cache.read(first, bytes);
      else {
        this.checkWritable();
        this.#cache.write(first, bytes);
      }
      return FatFs.RES_OK;
    } catch (error) {
      this.#fault = { error };
      if (doing === 'write') this.#writeFault ??= { error };
      return FatFs.RES_ERROR;
    }
  }

  #control(command: number, pointer: Pointer): number {
    const { sectorBytes, totalSectors } = this.geometry;
    switch (command) {
      case FatFs.CTRL_SYNC: // comes after every small change; the volume's flush is the one that reaches the medium
        return FatFs.RES_OK;
      case FatFs.GET_SECTOR_SIZE:
        this.ff.setValue(pointer, sectorBytes, 'i16');
        return FatFs.RES_OK;
      case FatFs.GET_SECTOR_COUNT:
        this.ff.setValue(pointer, totalSectors, 'i32');
        return FatFs.RES_OK;
      case FatFs.GET_BLOCK_SIZE:
        this.ff.setValue(pointer, 1, 'i32');
        return FatFs.RES_OK;
      default:
        return FatFs.RES_PARERR;
    }
  }
}
