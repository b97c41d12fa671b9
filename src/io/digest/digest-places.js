// Reads files and hashes what it reads, here or in another thread. Plain JavaScript, because a thread is started from files that
// Node runs as they are, from src as from dist; it imports nothing of ours in TypeScript for the same reason.
import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, read, readSync } from 'node:fs';
import { setImmediate as breath } from 'node:timers/promises';
import { promisify } from 'node:util';
import zlib from 'node:zlib';
import CRC32 from 'crc-32';

const readAside = promisify(read);
const blockBytes = 2 ** 18;
/** As `directAlignment` in io/volume/direct-device.ts. */
const alignment = 4096;
/** As in digest.ts. */
const [mediumEnds, notAFile] = ['ERR_MEDIUM_ENDS', 'ERR_NOT_A_FILE'];
const tellEveryBytes = 4 * 2 ** 20;
/** Files of one order, and of all, that are on their way at once: on a slow stick a small one waits more than it is hashed. */
const [sideBySide, mostAtOnce] = [3, 8];
/** The system's memory gives a block in a tenth of this; a stick never does. */
const usuallyQuickMs = 0.5;
const tryAgainAfter = 64;

/** @typedef {{ at: number, bytes: number }} Span */
/** @typedef {{ path: string, flags: number, spans: readonly Span[] | undefined }} Place */
/** @typedef {{ id: number, places: readonly Place[], crc: boolean }} Order */
/** @typedef {{ at: number, length: number, skip: number, wanted: number | undefined }} Read */
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
 * How a medium is read. What lies in the system's memory is copied here sooner than another thread is asked for it; what has to come
 * from a stick is waited for in other threads, a block ahead. Two slow answers running, because one may only mean that this
 * thread had to wait for its turn; and now and then it is tried again.
 */
class Pace {
  #quickMs;
  #slow = 0;
  #files = 0;

  /** @param {number} quickMs */
  constructor(quickMs) {
    this.#quickMs = quickMs;
  }

  beginFile() {
    if (++this.#files % tryAgainAfter === 0) this.#slow = Math.min(this.#slow, 1);
  }

  get isQuick() {
    return this.#slow < 2;
  }

  /**
   * As `readSync`.
   * @param {number} fd
   * @param {Uint8Array} block
   * @param {number} offset
   * @param {number} length
   * @param {number} at
   */
  read(fd, block, offset, length, at) {
    const started = performance.now();
    const got = readSync(fd, block, offset, length, at);
    this.#slow = performance.now() - started < this.#quickMs ? 0 : this.#slow + 1;
    return got;
  }
}

/**
 * The reads that cover SPANS, each within one block and at an aligned place; SKIP leads to the first byte that counts. Without
 * spans the file is read to its end.
 * @param {readonly Span[] | undefined} spans
 * @returns {Generator<Read>}
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
 * The bytes that count of what was read into BLOCK, and whether they are the file's last.
 * @param {Uint8Array} block
 * @param {Read} place
 * @param {number} got
 */
function pieceOf(block, { skip, wanted, length }, got) {
  if (wanted !== undefined && got < skip + wanted) throw Object.assign(new Error(), { code: mediumEnds });
  const end = wanted === undefined ? got : skip + wanted;
  return { piece: block.subarray(Math.min(skip, end), end), isLast: wanted === undefined && got < length };
}

/**
 * Hands the pieces of READS to HEAR, as long as they come quickly and up to about `tellEveryBytes`; returns whether that was all.
 * @param {number} fd
 * @param {Generator<Read>} reads
 * @param {Pace} pace
 * @param {(piece: Uint8Array) => void} hear
 */
function hearQuickly(fd, reads, pace, hear) {
  const block = takeBlock();
  try {
    for (let heard = 0; heard < tellEveryBytes && pace.isQuick; ) {
      const next = reads.next();
      if (next.done === true) return true;
      const { at, length } = next.value;
      let got = 0;
      for (let more = -1; more !== 0 && got < length && got % alignment === 0; got += more) {
        more = pace.read(fd, block, got, length - got, at + got);
      }
      const { piece, isLast } = pieceOf(block, next.value, got);
      if (piece.length > 0) hear(piece);
      if (isLast) return true;
      heard += piece.length;
    }
    return false;
  } finally {
    idle.push(block);
  }
}

/**
 * Fills BLOCK unless the file ends. A direct read goes on only from an aligned place: anything else is the end of the file.
 * @param {number} fd
 * @param {Uint8Array} block
 * @param {Read} place
 */
async function fillAside(fd, block, { at, length }) {
  let done = 0;
  while (done < length) {
    const { bytesRead } = await readAside(fd, block, done, length - done, at + done);
    done += bytesRead;
    if (bytesRead === 0 || done % alignment !== 0) break;
  }
  return done;
}

/**
 * The pieces of READS, by other threads: one block ahead while the present one is hashed.
 * @param {number} fd
 * @param {Generator<Read>} reads
 * @returns {AsyncGenerator<Uint8Array>}
 */
async function* piecesAside(fd, reads) {
  /** @type {Uint8Array[]} */
  const blocks = [];
  /** @type {Promise<number> | undefined} */
  let ahead;
  const start = (/** @type {number} */ turn) => {
    const next = reads.next();
    if (next.done === true) return undefined;
    blocks[turn % 2] ??= takeBlock(); // a small file needs one only
    const block = /** @type {Uint8Array} */ (blocks[turn % 2]);
    ahead = fillAside(fd, block, next.value);
    ahead.catch(() => {}); // it is told when its turn comes
    return { place: next.value, block, filling: ahead };
  };
  try {
    let present = start(0);
    for (let turn = 1; present !== undefined; turn++) {
      const { piece, isLast } = pieceOf(present.block, present.place, await present.filling);
      present = isLast ? undefined : start(turn);
      if (piece.length > 0) yield piece;
    }
  } finally {
    await ahead?.catch(() => {}); // a block must not be given back while it is being filled
    idle.push(...blocks);
  }
}

let ordersHere = 0;
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

/** @type {Map<string, Pace>} */
const paces = new Map();

/**
 * @param {Place} place
 * @param {number} device
 * @param {number} quickMs
 */
function paceOf({ path, spans }, device, quickMs) {
  const medium = `${quickMs} ${spans === undefined ? device : path}`;
  const pace = paces.get(medium) ?? new Pace(quickMs);
  paces.set(medium, pace);
  return pace;
}

/** What an order has open. A medium is opened once for all its files, which on some systems takes longer than to read one. */
class Handles {
  /** @type {Map<string, number>} */
  #media = new Map();

  /** @param {Place} place */
  open({ path, flags, spans }) {
    if (spans === undefined) return openSync(path, flags);
    const key = `${flags} ${path}`;
    const fd = this.#media.get(key) ?? openSync(path, flags);
    this.#media.set(key, fd);
    return fd;
  }

  /**
   * @param {Place} place
   * @param {number} fd
   */
  close({ spans }, fd) {
    if (spans === undefined) closeSync(fd);
  }

  end() {
    for (const fd of this.#media.values()) closeSync(fd);
  }
}

/**
 * @param {Place} place
 * @param {Order} order
 * @param {{ quickMs: number, handles: Handles, tell: Tell }} how
 */
async function digest(place, { id, crc }, { quickMs, handles, tell }) {
  const hash = createHash('sha256');
  let [bytes, told, crcSoFar] = [0, 0, 0];
  const hear = (/** @type {Uint8Array} */ piece) => {
    hash.update(piece);
    if (crc) crcSoFar = crc32(piece, crcSoFar);
    bytes += piece.length;
  };
  const tellAll = () => {
    tell({ id, heard: bytes - told });
    told = bytes;
    return breath(); // another order, or the word to stop, may be waiting
  };
  const fd = handles.open(place);
  try {
    const stat = fstatSync(fd);
    // A named pipe would be waited for, and a folder has no bytes.
    if (place.spans === undefined && !stat.isFile()) throw Object.assign(new Error(), { code: notAFile });
    const pace = paceOf(place, stat.dev, quickMs);
    pace.beginFile();
    const reads = readsOf(place.spans);
    let isAll = false;
    while (pace.isQuick && !stopped.has(id)) {
      isAll = hearQuickly(fd, reads, pace, hear);
      if (isAll) break;
      await tellAll();
    }
    if (!isAll) {
      for await (const piece of piecesAside(fd, reads)) {
        if (stopped.has(id)) break;
        hear(piece);
        if (bytes - told >= tellEveryBytes) await tellAll();
      }
    }
  } finally {
    handles.close(place, fd);
  }
  return { untold: bytes - told, digest: { sha256: hash.digest('hex'), crc32: crcSoFar, bytes } };
}

/**
 * Reads and hashes what an order names; TELL hears how far it is, and at last the outcomes in the order of the places. What takes
 * longer than QUICK MS is read by other threads.
 * @param {Order} order
 * @param {Tell} tell
 * @param {number} quickMs
 */
export async function carryOut(order, tell, quickMs = usuallyQuickMs) {
  ordersHere++;
  const { id, places } = order;
  const how = { quickMs, handles: new Handles(), tell };
  /** @type {any[]} */
  const outcomes = new Array(places.length);
  let heard = 0;
  let next = 0;
  const lane = async () => {
    for (let index = next++; index < places.length && !stopped.has(id); index = next++) {
      try {
        const { untold, digest: done } = await inTurn(() => digest(/** @type {Place} */ (places[index]), order, how));
        heard += untold;
        outcomes[index] = { digest: done };
      } catch (error) {
        const { code, message } = /** @type {NodeJS.ErrnoException} */ (error);
        outcomes[index] = { failure: { code, message } };
      }
      if (ordersHere > 1) await breath();
    }
  };
  await Promise.all(Array.from({ length: sideBySide }, lane));
  how.handles.end();
  stopped.delete(id);
  ordersHere--;
  tell({ id, heard, outcomes });
}
