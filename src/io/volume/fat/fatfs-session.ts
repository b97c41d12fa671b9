import { readFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import * as FatFs from 'js-fatfs';
import type { ToolError } from '../../../core/model/tool-error.ts';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import { nameRefused, nameTaken, notAsListed, stickFailed, stickFull, stickReadOnly } from '../os-error.ts';
import { type SectorDevice, webAssembly } from '../sector-device.ts';
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

  /**
   * Runs a FatFs read or write whose data lies in [pointer, pointer + bytes), in as few calls of the device as can be.
   */
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

let compiled: Promise<object> | undefined;

/**
 * A FatFs instance of its own. The program behind it is compiled once, since a stick takes several instances. AT (RFC
 * 3339) stands in for the clock, and is told in UTC.
 */
export async function createFatFs(diskio: FatFs.DiskIO, at?: string): Promise<FatFs.FatFs> {
  compiled ??= compile();
  const module = await compiled;
  // Emscripten's own hook, which the package's types leave out.
  const instantiateWasm = (imports: object, done: (instance: object) => void): object => {
    const chosen = at === undefined ? imports : withClock(imports, readsAsUtc(at));
    void webAssembly.instantiate(module, chosen).then(done);
    return {};
  };
  const options: FatFs.FatFsOptions & { readonly instantiateWasm: typeof instantiateWasm } = {
    diskio,
    instantiateWasm,
  };
  return FatFs.create(options);
}

/**
 * FatFs asks for the time through the only import that takes no argument (emscripten_date_now; a test holds that), and
 * tells it in the zone of this machine.
 */
function withClock(imports: object, nowMs: number): object {
  const [[name = '', functions] = []] = Object.entries(imports as Record<string, Record<string, unknown>>);
  const replaced = Object.entries(functions ?? {}).map(([key, value]) => {
    const isClock = typeof value === 'function' && value.length === 0;
    return [key, isClock ? () => nowMs : value] as const;
  });
  return { [name]: Object.fromEntries(replaced) };
}

/** The moment whose local time reads as AT does in UTC. (An hour off in the hour that a zone leaves out in spring.) */
function readsAsUtc(at: string): number {
  const date = new Date(at);
  return new Date(
    date.getUTCFullYear(),
    date.getUTCMonth(),
    date.getUTCDate(),
    date.getUTCHours(),
    date.getUTCMinutes(),
    date.getUTCSeconds(),
  ).getTime();
}

const compile = async (): Promise<object> =>
  webAssembly.compile(await readFile(createRequire(import.meta.url).resolve('js-fatfs/dist/fatfs.wasm')));

/** What a FatFs result means to a person (FatFs documentation, "Return code of API functions"). */
function fatResultError(result: number, doing: 'read' | 'write', subject: string): ToolError {
  switch (result) {
    case FatFs.FR_NO_FILE:
      return notAsListed(subject, 'it is not on the stick');
    case FatFs.FR_NO_PATH:
      return notAsListed(subject, 'its folder is not on the stick');
    case FatFs.FR_INVALID_NAME:
    case FatFs.FR_INVALID_DRIVE:
      return nameRefused(subject, 'it is not a FAT name');
    case FatFs.FR_EXIST:
      return nameTaken(subject);
    case FatFs.FR_DENIED:
      return stickFull(subject, 'no space for another name in its folder');
    case FatFs.FR_WRITE_PROTECTED:
      return stickReadOnly(subject);
    case FatFs.FR_NO_FILESYSTEM:
      return stickFailed(doing, subject, 'the FAT volume is damaged: its boot sector contradicts itself');
    case FatFs.FR_INT_ERR:
      return stickFailed(doing, subject, 'the FAT volume is damaged: its allocation table leads nowhere');
    default:
      return stickFailed(doing, subject, `FatFs reports ${result}`);
  }
}
