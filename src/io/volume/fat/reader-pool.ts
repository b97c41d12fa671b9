import { setImmediate as yieldToLoop } from 'node:timers/promises';
import * as FatFs from 'js-fatfs';
import type { FatGeometry } from '../../../core/volume-format/fat-geometry.ts';
import type { FreshDevice, SectorDevice } from '../sector-device.ts';
import type { ReadBackKind, VolumeReader } from '../volume.ts';
import { FatFsSession } from './fatfs-session.ts';

interface Lane {
  readonly fresh: FreshDevice;
  readonly session: FatFsSession;
  /** How often the medium had been written when this lane last looked at it. */
  seen: number;
}

interface Lent {
  readonly session: FatFsSession;
  giveBack(): void;
}

/**
 * FatFs instances for reading, each with memory and a view of the medium of its own, so that nothing the writing one
 * keeps in memory can answer, and so that a chunk in a reader's hands stays where it is while others go on.
 */
export class ReaderPool {
  readonly readBack: ReadBackKind;
  readonly geometry: FatGeometry;
  readonly #open: () => FreshDevice;
  readonly #view: (device: SectorDevice) => SectorDevice;
  readonly #writes: () => number;
  readonly #idle: Lane[] = [];
  readonly #lanes = new Set<Lane>();
  #first: FreshDevice | undefined;

  constructor(
    open: () => FreshDevice,
    view: (device: SectorDevice) => SectorDevice,
    geometry: FatGeometry,
    writes: () => number,
  ) {
    this.#open = open;
    this.#view = view;
    this.geometry = geometry;
    this.#writes = writes;
    this.#first = open();
    this.readBack = this.#first.readBack;
  }

  async lend(): Promise<Lent> {
    const lane = this.#idle.pop() ?? (await this.#newLane());
    if (lane.seen !== this.#writes()) {
      lane.seen = this.#writes();
      lane.session.mount(0);
    }
    return { session: lane.session, giveBack: () => this.#idle.push(lane) };
  }

  async close(): Promise<void> {
    await this.#first?.device.close();
    for (const lane of this.#lanes) {
      lane.session.close();
      await lane.fresh.device.close();
    }
    this.#lanes.clear();
    this.#idle.length = 0;
  }

  async #newLane(): Promise<Lane> {
    const fresh = this.#first ?? this.#open();
    this.#first = undefined;
    const seen = this.#writes();
    try {
      const session = await FatFsSession.open(this.#view(fresh.device), this.geometry, 0);
      const lane = { fresh, session, seen };
      this.#lanes.add(lane);
      return lane;
    } catch (error) {
      await fresh.device.close();
      throw error;
    }
  }
}

const chunkBytes = 2 ** 20;

/**
 * Reads one file. A session is taken from the pool when the chunks are asked for, and given back when they are read or
 * left.
 */
export const openFatReader = (pool: ReaderPool, fatPath: string): VolumeReader => ({
  readBack: pool.readBack,
  chunks: () => readChunks(pool, fatPath),
});

async function* readChunks(pool: ReaderPool, fatPath: string): AsyncGenerator<Uint8Array> {
  const subject = fatPath.slice(1);
  const lent = await pool.lend();
  const { session } = lent;
  const { ff } = session;
  const pointers = [FatFs.sizeof_FIL, chunkBytes, 4].map((bytes) => session.allocate(bytes));
  const [file = 0, buffer = 0, moved = 0] = pointers;
  let opened = false;
  try {
    session.check(ff.f_open(file, fatPath, FatFs.FA_READ), 'read', subject);
    opened = true;
    for (let left = ff.f_size(file) >>> 0; left > 0; ) {
      const wanted = Math.min(left, chunkBytes);
      session.check(
        session.bulk(buffer, wanted, () => ff.f_read(file, buffer, wanted, moved)),
        'read',
        subject,
      );
      const got = ff.getValue(moved, 'i32');
      if (got === 0) return;
      left -= got;
      yield ff.HEAPU8.subarray(buffer, buffer + got);
      if (left > 0) await yieldToLoop();
    }
  } finally {
    if (opened) ff.f_close(file);
    for (const pointer of pointers) ff.free(pointer);
    lent.giveBack();
  }
}
