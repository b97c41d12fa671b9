// The other thread of aside-digest.ts: reads files and hashes what it reads. Plain JavaScript, because a thread is started from
// a file that Node runs as it is, from src as from dist; it imports nothing of ours for the same reason.
import { createHash } from 'node:crypto';
import { close, open, read } from 'node:fs';
import { promisify } from 'node:util';
import { parentPort } from 'node:worker_threads';
import zlib from 'node:zlib';
import CRC32 from 'crc-32';

const [openFile, readFile, closeFile] = [promisify(open), promisify(read), promisify(close)];
const blockBytes = 2 ** 20;
/** As `directAlignment` in io/volume/direct-device.ts. */
const alignment = 4096;
/** As `mediumEndsCode` in digest.ts. */
const mediumEnds = 'ERR_MEDIUM_ENDS';
const tellEveryBytes = 4 * 2 ** 20;

/** @typedef {{ at: number, bytes: number }} Span */
/** @typedef {{ id: number, path: string, flags: number, spans: Span[] | undefined, crc: boolean }} Order */

/**
 * As in io/archive/crc32.ts.
 * @type {(bytes: Uint8Array, before: number) => number}
 */
const crc32 = 'crc32' in zlib ? zlib.crc32 : (bytes, before) => CRC32.buf(bytes, before | 0) >>> 0;

const { Memory } = /** @type {any} */ (globalThis).WebAssembly;

/** @type {Uint8Array[]} */
const idle = [];
/** @type {Set<number>} */
const stopped = new Set();

/** Starts at a page, which a direct read wants and a Buffer does not promise. */
const takeBlock = () => idle.pop() ?? new Uint8Array(new Memory({ initial: blockBytes / 65_536 }).buffer);

/**
 * The reads that cover SPANS, each within one block and at an aligned place; SKIP leads to the first byte that counts. Without
 * spans the file is read to its end.
 * @param {Span[] | undefined} spans
 * @returns {Generator<{ at: number, length: number, skip: number, wanted: number | undefined }>}
 */
function* readsOf(spans) {
  for (let at = 0; spans === undefined; at += blockBytes) yield { at, length: blockBytes, skip: 0, wanted: undefined };
  for (const span of spans ?? []) {
    for (let done = 0; done < span.bytes; ) {
      const skip = (span.at + done) % alignment;
      const wanted = Math.min(span.bytes - done, blockBytes - skip);
      yield { at: span.at + done - skip, length: Math.ceil((skip + wanted) / alignment) * alignment, skip, wanted };
      done += wanted;
    }
  }
}

/**
 * Fills BLOCK unless the file ends. A direct read goes on only from an aligned place: anything else is the end of the file.
 * @param {number} fd
 * @param {Uint8Array} block
 * @param {{ at: number, length: number }} place
 */
async function fill(fd, block, { at, length }) {
  let done = 0;
  while (done < length) {
    const { bytesRead } = await readFile(fd, block, done, length - done, at + done);
    done += bytesRead;
    if (bytesRead === 0 || done % alignment !== 0) break;
  }
  return done;
}

/**
 * Reads ahead by one block while the present one is hashed.
 * @param {number} fd
 * @param {Order} order
 * @returns {AsyncGenerator<Uint8Array>}
 */
async function* piecesOf(fd, { spans }) {
  const blocks = [takeBlock(), takeBlock()];
  const reads = readsOf(spans);
  /** @type {Promise<unknown> | undefined} */
  let ahead;
  const start = (/** @type {number} */ turn) => {
    const next = reads.next();
    if (next.done === true) return undefined;
    const filling = fill(fd, /** @type {Uint8Array} */ (blocks[turn % 2]), next.value);
    ahead = filling;
    filling.catch(() => {}); // it is told when its turn comes
    return { ...next.value, filling };
  };
  try {
    let present = start(0);
    for (let turn = 0; present !== undefined; turn++) {
      const got = await present.filling;
      const { skip, wanted, length } = present;
      if (wanted !== undefined && got < skip + wanted) throw Object.assign(new Error(), { code: mediumEnds });
      const isLast = wanted === undefined && got < length;
      const next = isLast ? undefined : start(turn + 1);
      const block = /** @type {Uint8Array} */ (blocks[turn % 2]);
      if (got > 0) yield block.subarray(skip, wanted === undefined ? got : skip + wanted);
      present = next;
    }
  } finally {
    await ahead?.catch(() => {}); // a block must not be given back while it is being filled
    idle.push(...blocks);
  }
}

/** @param {Order} order */
async function digest(order) {
  const { id, path, flags, crc } = order;
  const hash = createHash('sha256');
  let [bytes, told, running] = [0, 0, 0];
  const fd = await openFile(path, flags);
  try {
    for await (const piece of piecesOf(fd, order)) {
      if (stopped.has(id)) break;
      hash.update(piece);
      if (crc) running = crc32(piece, running);
      bytes += piece.length;
      if (bytes - told < tellEveryBytes) continue;
      parentPort?.postMessage({ id, heard: bytes - told });
      told = bytes;
    }
  } finally {
    await closeFile(fd);
    stopped.delete(id);
  }
  parentPort?.postMessage({ id, heard: bytes - told, result: { sha256: hash.digest('hex'), crc32: running, bytes } });
}

parentPort?.on('message', (/** @type {Order | { stop: number }} */ message) => {
  if ('stop' in message) {
    stopped.add(message.stop);
    return;
  }
  digest(message).catch((error) => {
    const { code, message: text, syscall } = error;
    parentPort?.postMessage({ id: message.id, error: { code, text, syscall } });
  });
});
