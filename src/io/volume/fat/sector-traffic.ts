import * as FatFs from 'js-fatfs';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';
import { BlockCache } from './block-cache.ts';

type Pointer = number;

/** A run of sectors that FatFs asked for piece by piece and that goes to the device in one call. */
interface Run {
  readonly doing: 'read' | 'write';
  readonly sector: number;
  readonly pointer: Pointer;
  count: number;
}

/**
 * The sectors between one FatFs instance and its device. FatFs moves data cluster by cluster; inside `bulk`
 * neighbouring pieces are gathered, in order, into one call of the device. What the device throws is kept: FatFs only
 * hears "error".
 */
export class SectorTraffic {
  readonly #device: SectorDevice;
  readonly #geometry: FatGeometry;
  readonly #cache: BlockCache;
  /** FatFs's memory; it moves when it grows, so it is asked for each time. */
  readonly #memory: () => FatFs.FatFs;
  #freeClusters = 0;
  #bulkStart = 0;
  #bulkEnd = 0;
  #run: Run | undefined;
  #fault: { readonly error: unknown } | undefined;
  #writeFault: { readonly error: unknown } | undefined;

  constructor(device: SectorDevice, geometry: FatGeometry, memory: () => FatFs.FatFs) {
    this.#device = device;
    this.#geometry = geometry;
    this.#cache = new BlockCache(device);
    this.#memory = memory;
  }

  /** The callbacks of FatFs ("Media access interface" of its documentation). */
  get diskio(): FatFs.DiskIO {
    const status = this.#device.readOnly ? FatFs.STA_PROTECT : 0;
    return {
      initialize: () => status,
      status: () => status,
      // Sector numbers past 2^31 arrive negative.
      read: (_, _drive, pointer, sector, count) => this.#read(pointer, sector >>> 0, count),
      write: (_, _drive, pointer, sector, count) => this.#write(pointer, sector >>> 0, count),
      ioctl: (_, _drive, command, pointer) => this.#control(command, pointer),
    };
  }

  /** Forgets what was read. FREE CLUSTERS stands in for the volume's own note of it, which is often stale. */
  reset(freeClusters: number): void {
    this.#freeClusters = freeClusters;
    this.#cache.clear();
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

  /** What the device threw since the last call. */
  takeFault(): { readonly error: unknown } | undefined {
    const fault = this.#fault;
    this.#fault = undefined;
    return fault;
  }

  /** After a failed write nobody knows what the medium holds, so nothing more is written to it. */
  checkWritable(): void {
    if (this.#writeFault !== undefined) throw this.#writeFault.error;
  }

  /** A write that FatFs believes in did not reach the device. */
  fail(error: unknown): void {
    this.#writeFault ??= { error };
  }

  get hasFailed(): boolean {
    return this.#writeFault !== undefined;
  }

  #read(pointer: Pointer, sector: number, count: number): number {
    if (this.#isBulk(pointer)) return this.#gather('read', pointer, sector, count);
    const result = this.#transfer('read', pointer, sector, count);
    if (sector === this.#geometry.fsInfoSector && result === FatFs.RES_OK) {
      this.#memory().setValue(pointer + 488, this.#freeClusters, 'i32'); // FSI_Free_Count
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
      run.pointer + run.count * this.#geometry.sectorBytes === pointer;
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
    const { sectorBytes } = this.#geometry;
    const bytes = this.#memory().HEAPU8.subarray(pointer, pointer + count * sectorBytes);
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
    const { sectorBytes, totalSectors } = this.#geometry;
    switch (command) {
      case FatFs.CTRL_SYNC: // comes after every small change; the volume's flush is the one that reaches the medium
        return FatFs.RES_OK;
      case FatFs.GET_SECTOR_SIZE:
        this.#memory().setValue(pointer, sectorBytes, 'i16');
        return FatFs.RES_OK;
      case FatFs.GET_SECTOR_COUNT:
        this.#memory().setValue(pointer, totalSectors, 'i32');
        return FatFs.RES_OK;
      case FatFs.GET_BLOCK_SIZE:
        this.#memory().setValue(pointer, 1, 'i32');
        return FatFs.RES_OK;
      default:
        return FatFs.RES_PARERR;
    }
  }
}
