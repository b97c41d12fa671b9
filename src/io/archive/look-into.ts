import { inflateRawSync, constants as zlib } from 'node:zlib';
import { panelImageOf } from '../../core/archive-format/identify-file.ts';
import type { CentralRecord } from '../../core/archive-format/read-central-directory.ts';
import { type ArchiveShape, startOf } from '../../core/archive-format/read-end-records.ts';
import { localHeaderLength } from '../../core/archive-format/read-local-header.ts';
import type { FileGlance, InnerGlance, StickEntry } from '../../core/model/stick-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import type { FileParts, Volume } from '../volume/volume.ts';
import { type ByteSource, readAt } from './read-at.ts';
import { readShape } from './read-shape.ts';

/**
 * Bytes that may still be read and inflated in all; what is left when they are used up is said not to be looked into.
 */
interface LookBudget {
  bytes: number;
}

const kib = 1024;
const headBytes = 4 * kib;
/** An end record with a short comment is seen in these; longer ones only where the file begins as an archive. */
const lastBytes = 4 * kib;
/** Without a directory the names of the first entries are still read. */
const firstEntriesBytes = 64 * kib;
const mostNames = 20_000;
/** In each archive the largest entries are looked into: firmware is large, and papers are small. */
const mostInner = 64;
const deepest = 3;
/** A deflated archive inside one is inflated up to here, so that its directory can be read. */
const mostInflated = 32 * kib * kib;

/** One stick: more files than these are not looked into, and no more bytes are read for it. */
const mostFiles = 10_000;
const mostBytes = 256 * kib * kib;

const nothing: FileGlance = { image: undefined, names: [], inner: [], whole: true };

/**
 * Looks at the first and last bytes of a file and, where it is a zip archive, at its directory and at the beginnings of
 * its largest entries, archives in archives included. Reads no large file whole. Throws what SOURCE throws.
 */
export async function lookInto(source: ByteSource, bytes: number, budget: LookBudget, depth = 0): Promise<FileGlance> {
  const metered = meter(source, budget);
  const head = await readAt(metered, '', 0, Math.min(headBytes, bytes));
  const image = panelImageOf(head);
  if (image !== undefined) return { ...nothing, image };
  if (!isZip(head) && !(await endsAsZip(metered, bytes))) return nothing;
  if (budget.bytes < 0) return { ...nothing, whole: false };
  const file = await readShape(metered, '', bytes);
  if (file.kind === 'no-end-record') {
    return { ...nothing, names: namesAlong(await readAt(metered, '', 0, Math.min(firstEntriesBytes, bytes))) };
  }
  if (file.kind !== 'archive') return { ...nothing, whole: false };
  const { records } = file.shape.directory;
  const names = records.slice(0, mostNames).map(({ name }) => name.shown);
  const { inner, whole } = await lookIntoLargest(metered, file.shape, budget, depth);
  return { image: undefined, names, inner, whole: whole && records.length <= mostNames };
}

/** The archives and images among the largest entries of an archive that was opened. */
export const lookIntoEntries = async (source: ByteSource, shape: ArchiveShape): Promise<readonly InnerGlance[]> =>
  (await lookIntoLargest(source, shape, { bytes: mostBytes }, 0)).inner;

async function lookIntoLargest(
  source: ByteSource,
  shape: ArchiveShape,
  budget: LookBudget,
  depth: number,
): Promise<Pick<FileGlance, 'inner' | 'whole'>> {
  const { records } = shape.directory;
  const files = records.filter(({ name, bytes: size }) => size >= 22 && !name.shown.endsWith('/'));
  const largest = files.toSorted((a, b) => b.bytes - a.bytes).slice(0, mostInner);
  const inner: InnerGlance[] = [];
  let whole = true;
  for (const record of largest) {
    const at = startOf(shape, record);
    const glance = await lookIntoEntry(source, { record, at }, budget, depth + 1);
    whole &&= glance.whole;
    if (glance.image !== undefined || glance.names.length > 0) inner.push({ ...glance, name: record.name.shown });
  }
  return { inner, whole };
}

/**
 * Looks into FILES of a stick, by path. One that cannot be read, or comes after the bounds are reached, is said not to
 * be looked into whole. Throws the signal's reason, and ToolError where the stick itself is gone.
 */
export async function lookIntoFiles(
  volume: Pick<Volume, 'openParts'>,
  files: readonly StickEntry[],
  signal: AbortSignal,
): Promise<ReadonlyMap<string, FileGlance>> {
  const glances = new Map<string, FileGlance>();
  const budget = { bytes: mostBytes };
  for (const [index, { path, bytes }] of files.entries()) {
    signal.throwIfAborted();
    const isBeyond = index >= mostFiles || budget.bytes < 0;
    glances.set(path, isBeyond ? { ...nothing, whole: false } : await lookIntoFile(volume, path, bytes, budget));
  }
  return glances;
}

/** The last: a file of somebody else's, on a file system that keeps people apart. */
const notReadable: ReadonlySet<string> = new Set(['stick/read-failed', 'stick/not-as-listed', 'file/not-permitted']);

async function lookIntoFile(
  volume: Pick<Volume, 'openParts'>,
  path: string,
  bytes: number,
  budget: LookBudget,
): Promise<FileGlance> {
  let parts: FileParts | undefined;
  try {
    parts = await volume.openParts(path);
    return await lookInto(parts, bytes, budget);
  } catch (error) {
    const cause = error instanceof ToolError && error.code === 'file/unreadable' ? error.cause : error;
    if (cause instanceof ToolError && notReadable.has(cause.code)) return { ...nothing, whole: false };
    throw cause ?? error;
  } finally {
    await parts?.close();
  }
}

interface Entry {
  readonly record: CentralRecord;
  readonly at: number;
}

async function lookIntoEntry(
  source: ByteSource,
  { record, at }: Entry,
  budget: LookBudget,
  depth: number,
): Promise<FileGlance> {
  const isEncrypted = (record.flags & 1) !== 0; // APPNOTE 4.4.4, bit 0
  if (isEncrypted || (record.method !== 0 && record.method !== 8)) return nothing;
  if (budget.bytes < 0) return { ...nothing, whole: false };
  const header = localHeaderLength(await readAt(source, '', at, 30));
  if (header === undefined || header < 0) return nothing; // no reader finds it
  const packed = within(source, at + header, record.compressedBytes);
  if (record.method === 0) {
    if (depth < deepest) return await lookInto(packed, record.compressedBytes, budget, depth);
    const head = await readAt(packed, '', 0, Math.min(headBytes, record.compressedBytes));
    return { ...nothing, image: panelImageOf(head), whole: !isZip(head) };
  }
  const head = inflated(await readAt(packed, '', 0, Math.min(kib, record.compressedBytes)), mostInflated);
  const image = panelImageOf(head);
  if (image !== undefined || !isZip(head)) return { ...nothing, image };
  if (depth >= deepest) return { ...nothing, names: namesAlong(head), whole: false };
  const all = inflated(await readAt(packed, '', 0, Math.min(mostInflated, record.compressedBytes)), mostInflated);
  budget.bytes -= all.length;
  if (all.length !== record.bytes) return { ...nothing, names: namesAlong(all.length > 0 ? all : head), whole: false };
  return await lookInto(inMemory(all), all.length, budget, depth);
}

const signature = (bytes: Uint8Array, at: number): number =>
  at + 4 > bytes.length ? 0 : Buffer.from(bytes.buffer, bytes.byteOffset + at, 4).readUInt32LE();

/** A local header or an empty archive's end record (APPNOTE 4.3.7, 4.3.16). */
const isZip = (head: Uint8Array): boolean => [0x04034b50, 0x06054b50].includes(signature(head, 0));

async function endsAsZip(source: ByteSource, bytes: number): Promise<boolean> {
  const last = await readAt(source, '', Math.max(0, bytes - lastBytes), Math.min(lastBytes, bytes));
  return last.includes(Buffer.from('PK\x05\x06', 'latin1'));
}

/** Names of the local headers in BYTES, for an archive whose directory cannot be reached. */
function namesAlong(bytes: Buffer): readonly string[] {
  const names: string[] = [];
  const mark = Buffer.from('PK\x03\x04', 'latin1');
  for (let at = bytes.indexOf(mark); at >= 0 && names.length < mostNames; at = bytes.indexOf(mark, at + 4)) {
    if (at + 30 > bytes.length) break;
    names.push(bytes.toString('utf8', at + 30, at + 30 + bytes.readUInt16LE(at + 26)));
  }
  return names;
}

/** As much as comes out of the beginning of a deflate stream; empty where it is none, or grows beyond MOST. */
function inflated(packed: Buffer, most: number): Buffer {
  try {
    return inflateRawSync(packed, { finishFlush: zlib.Z_SYNC_FLUSH, maxOutputLength: most });
  } catch {
    return Buffer.alloc(0);
  }
}

const within = (source: ByteSource, start: number, bytes: number): ByteSource => ({
  read: (buffer, offset, length, position) =>
    source.read(buffer, offset, Math.max(0, Math.min(length, bytes - position)), start + position),
});

const inMemory = (bytes: Buffer): ByteSource => ({
  read: async (buffer, offset, length, position) => ({
    // What an archive states may lie anywhere.
    bytesRead: position < bytes.length ? bytes.copy(buffer, offset, position, position + length) : 0,
  }),
});

const meter = (source: ByteSource, budget: LookBudget): ByteSource => ({
  read: (buffer, offset, length, position) => {
    budget.bytes -= length;
    return source.read(buffer, offset, length, position);
  },
});
