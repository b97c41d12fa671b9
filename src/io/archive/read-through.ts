import { createHash } from 'node:crypto';
import type { FileHandle } from 'node:fs/promises';
import { crc32 } from 'node:zlib';
import type { Digests } from '../../core/model/archive-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import type { ArchiveReading, PassListener, PassOptions } from './archive.ts';
import type { LayoutWalk } from './layout-walk.ts';
import { readInto, toHear } from './read-at.ts';

const chunkBytes = 1024 * 1024;
/** How many chunks may be on their way: one being read, the others waiting for zlib. */
const slots = 6;

interface Slot {
  readonly buffer: Buffer;
  /** Settles when nobody needs the buffer's content any more. */
  free: Promise<unknown>;
}

interface PassOverFile {
  readonly file: FileHandle;
  readonly path: string;
  readonly fileBytes: number;
  /** Undefined where the file is no readable zip; then only raw bytes are heard. */
  readonly walk: LayoutWalk | undefined;
  readonly listener: PassListener;
  readonly signal: AbortSignal;
  readonly options: PassOptions;
}

/** Reads the file once from its first byte to its last; the next chunk is read while this one is looked at. */
export async function readThrough(pass: PassOverFile): Promise<ArchiveReading> {
  const { walk, listener, signal } = pass;
  const digests = startDigests(pass.options);
  let crc = pass.options.digests?.includes('crc32') === true ? 0 : undefined;
  let bytes = 0;
  try {
    for await (const { slot, chunk } of chunksOf(pass)) {
      signal.throwIfAborted();
      for (const digest of digests.values()) digest.update(chunk);
      if (crc !== undefined) crc = crc32(chunk, crc);
      const heard = listener.raw?.(toHear(chunk));
      if (heard !== undefined) await heard;
      if (walk !== undefined) slot.free = Promise.all(await walk.take(chunk));
      bytes += chunk.length;
    }
    signal.throwIfAborted();
    if (bytes !== pass.fileBytes) throw changedWhileRead(pass.path);
    await walk?.end();
  } finally {
    walk?.abandon();
  }
  const hexOf = (name: string): string | undefined => digests.get(name)?.digest('hex');
  const result: Digests = {
    sha256: hexOf('sha256') ?? '',
    sha512: hexOf('sha512'),
    sha384: hexOf('sha384'),
    sha224: hexOf('sha224'),
    sha1: hexOf('sha1'),
    md5: hexOf('md5'),
    crc32: crc?.toString(16).padStart(8, '0'),
  };
  return { digests: result, bytes, entries: walk?.readings ?? [] };
}

export const changedWhileRead = (path: string): ToolError =>
  new ToolError(
    'file/changed-while-read',
    path,
    `${path} changed while it was being read.`,
    'Wait until the download or copy has finished, then start again.',
  );

function startDigests({ digests = [] }: PassOptions) {
  const hashed = digests.filter((name) => name !== 'crc32');
  return new Map(['sha256', ...hashed].map((name) => [name, createHash(name)]));
}

async function* chunksOf(pass: PassOverFile): AsyncGenerator<{ slot: Slot; chunk: Buffer }> {
  const ring = Array.from({ length: slots }, (): Slot => ({ buffer: Buffer.alloc(0), free: Promise.resolve() }));
  const readNext = async (index: number, at: number): Promise<{ slot: Slot; chunk: Buffer }> => {
    const known = ring[index % slots] as Slot;
    await known.free;
    const wanted = Math.min(chunkBytes, pass.fileBytes - at);
    const slot = known.buffer.length >= wanted ? known : { ...known, buffer: Buffer.allocUnsafeSlow(wanted) };
    ring[index % slots] = slot;
    const chunk = slot.buffer.subarray(0, wanted);
    return { slot, chunk: chunk.subarray(0, await readInto(pass.file, pass.path, chunk, at)) };
  };
  let at = 0;
  let ahead = pass.fileBytes > 0 ? readNext(0, 0) : undefined;
  for (let index = 1; ahead !== undefined; index += 1) {
    const present = await ahead;
    if (present.chunk.length === 0) return;
    at += present.chunk.length;
    ahead = at < pass.fileBytes ? readNext(index, at) : undefined;
    ahead?.catch(() => {}); // heard when it is awaited; the pass may end before
    yield present;
  }
}
