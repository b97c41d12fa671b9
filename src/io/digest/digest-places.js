// Reads files and hashes what it reads, here or in another thread. Plain JavaScript, because a thread is started from files that
// Node runs as they are, from src as from dist; it imports nothing of ours in TypeScript for the same reason.
import { createHash } from 'node:crypto';
import { close, fstatSync, open, read } from 'node:fs';
import { promisify } from 'node:util';
import zlib from 'node:zlib';
import CRC32 from 'crc-32';

const [openFile, readFile, closeFile] = [promisify(open), promisify(read), promisify(close)];
const blockBytes = 2 ** 18;
/** As `directAlignment` in io/volume/direct-device.ts. */
const alignment = 4096;
/** As in digest.ts. */
const [mediumEnds, notAFile] = ['ERR_MEDIUM_ENDS', 'ERR_NOT_A_FILE'];
const tellEveryBytes = 4 * 2 ** 20;
/** Files of one order, and of all, that are on their way at once: a small one waits for the system more than for its hash. */
const [sideBySide, mostAtOnce] = [3, 8];

/** @typedef {{ at: number, bytes: number }} Span */
/** @typedef {{ path: string, flags: number, spans: readonly Span[] | undefined }} Place */
/** @typedef {{ id: number, places: readonly Place[], crc: boolean }} Order */
/** @typedef {(said: { id: number, heard: number, outcomes?: any[] }) => void} Tell */

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

/**
 * The order ends early, and what it tells is worth nothing.
 * @param {number} id
 */
export const stop = (id) => void stopped.add(id);

/** Starts at a page, which a direct read wants and a Buffer does not promise. */
const takeBlock = () => idle.pop() ?? new Uint8Array(new Memory({ initial: blockBytes / 65_536 }).buffer);

/**
 * The reads that cover SPANS, each within one block and at an aligned place; SKIP leads to the first byte that counts. Without
 * spans the file is read to its end.
 * @param {readonly Span[] | undefined} spans
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
 * @param {Place} place
 * @returns {AsyncGenerator<Uint8Array>}
 */
async function* piecesOf(fd, { spans }) {
  /** @type {Uint8Array[]} */
  const blocks = [];
  const reads = readsOf(spans);
  /** @type {Promise<unknown> | undefined} */
  let ahead;
  const start = (/** @type {number} */ turn) => {
    const next = reads.next();
    if (next.done === true) return undefined;
    blocks[turn % 2] ??= takeBlock(); // a small file needs one only
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

let running = 0;
/** @type {(() => void)[]} */
const waiting = [];

/**
 * Bounds the memory that is read into; whoever waits longest is next.
 * @template T
 * @param {() => Promise<T>} work
 */
async function inTurn(work) {
  if (running >= mostAtOnce) await new Promise((resolve) => waiting.push(() => resolve(undefined)));
  else running++;
  try {
    return await work();
  } finally {
    const next = waiting.shift();
    if (next === undefined) running--;
    else next();
  }
}

/**
 * @param {Place} place
 * @param {Order} order
 * @param {Tell} tell
 */
async function digest(place, { id, crc }, tell) {
  const hash = createHash('sha256');
  let [bytes, told, crcSoFar] = [0, 0, 0];
  const fd = await openFile(place.path, place.flags);
  try {
    // A named pipe would be waited for, and a folder has no bytes.
    if (place.spans === undefined && !fstatSync(fd).isFile()) throw Object.assign(new Error(), { code: notAFile });
    for await (const piece of piecesOf(fd, place)) {
      if (stopped.has(id)) break;
      hash.update(piece);
      if (crc) crcSoFar = crc32(piece, crcSoFar);
      bytes += piece.length;
      if (bytes - told < tellEveryBytes) continue;
      tell({ id, heard: bytes - told });
      told = bytes;
    }
  } finally {
    await closeFile(fd);
  }
  return { untold: bytes - told, digest: { sha256: hash.digest('hex'), crc32: crcSoFar, bytes } };
}

/**
 * Reads and hashes what an order names; TELL hears how far it is, and at last the outcomes in the order of the places.
 * @param {Order} order
 * @param {Tell} tell
 */
export async function carryOut(order, tell) {
  const { id, places } = order;
  /** @type {any[]} */
  const outcomes = new Array(places.length);
  let heard = 0;
  let next = 0;
  const lane = async () => {
    for (let index = next++; index < places.length && !stopped.has(id); index = next++) {
      try {
        const { untold, digest: done } = await inTurn(() => digest(/** @type {Place} */ (places[index]), order, tell));
        heard += untold;
        outcomes[index] = { digest: done };
      } catch (error) {
        const { code, message } = /** @type {NodeJS.ErrnoException} */ (error);
        outcomes[index] = { failure: { code, message } };
      }
    }
  };
  await Promise.all(Array.from({ length: sideBySide }, lane));
  stopped.delete(id);
  tell({ id, heard, outcomes });
}
