import { setImmediate as yieldToLoop } from 'node:timers/promises';
import * as FatFs from 'js-fatfs';
import type { VolumeReader } from '../volume.ts';
import type { ReaderPool } from './reader-pool.ts';

const chunkBytes = 2 ** 20;

/** Reads one file. A session is taken from the pool when the chunks are asked for, and given back when they are read or left. */
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
