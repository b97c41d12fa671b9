import { createHash } from 'node:crypto';
import { type FileHandle, stat } from 'node:fs/promises';
import { basename } from 'node:path';
import type { CentralRecord } from '../../core/archive-format/read-central-directory.ts';
import { type ArchiveShape, effectiveEnd, endOfComment, startOf } from '../../core/archive-format/read-end-records.ts';
import type { DirectoryFacts } from '../../core/archive-format/reading-facts.ts';
import type { ArchiveEntry, ArchiveFacts } from '../../core/model/archive-facts.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { openRegularFile } from '../files/regular-file.ts';
import type { Archive, OpenArchive } from './archive.ts';
import { LayoutWalk, type WalkEntry } from './layout-walk.ts';
import { lookIntoEntries } from './look-into.ts';
import { measureReach } from './measure-reach.ts';
import { type FileShape, readShape } from './read-shape.ts';
import { changedWhileRead, readThrough } from './read-through.ts';
import { readWithLibrary } from './zip-library.ts';

export const openArchive: OpenArchive = async (path) => {
  const file = await openFile(path);
  try {
    const identity = await identify(file);
    const shape = await readShape(file, path, identity.bytes);
    const entries = shape.kind === 'archive' ? listEntries(shape.shape) : [];
    const facts: ArchiveFacts = {
      path,
      fileName: basename(path),
      bytes: identity.bytes,
      entries: entries.map(({ entry }) => entry),
      inner: shape.kind === 'archive' ? await lookIntoEntries(file, shape.shape) : [],
      directorySha256: hashDirectory(shape),
    };
    const directory = await examine(file, path, shape);
    return toArchive({ file, path, identity, shape, entries, facts, directory });
  } catch (cause) {
    await file.close();
    throw cause;
  }
};

interface Opened {
  readonly file: FileHandle;
  readonly path: string;
  readonly identity: Identity;
  readonly shape: FileShape;
  readonly entries: readonly WalkEntry[];
  readonly facts: ArchiveFacts;
  readonly directory: DirectoryFacts;
}

function toArchive({ file, path, identity, shape, entries, facts, directory }: Opened): Archive {
  return {
    facts,
    directory,
    async readThrough(listener, signal, options = {}) {
      signal.throwIfAborted();
      await expectUnchanged(file, path, identity);
      const walk = hasDirectory(shape) ? new LayoutWalk(shape.shape, entries, listener) : undefined;
      const fileBytes = identity.bytes;
      const reading = await readThrough({ file, path, fileBytes, walk, listener, signal, options });
      await expectUnchanged(file, path, identity);
      return reading;
    },
    close: () => file.close(),
  };
}

/** Without any record there is nothing to walk by; an archive that says it is empty is looked through all the same. */
function hasDirectory(shape: FileShape): shape is Extract<FileShape, { kind: 'archive' }> {
  return (
    shape.kind === 'archive' && (shape.shape.directory.records.length > 0 || effectiveEnd(shape.shape).entries === 0)
  );
}

/** What else is to be looked at before anybody can judge it. */
async function examine(file: FileHandle, path: string, shape: FileShape): Promise<DirectoryFacts> {
  if (shape.kind === 'no-end-record') return { ...shape, reach: await measureReach(file, path, shape.fileBytes) };
  if (shape.kind !== 'archive') return shape;
  const library = await readWithLibrary(file, path, shape.shape);
  return { ...shape, library, reach: await reachPastForeignEnd(file, path, shape.shape) };
}

/** How far the archive must have reached, where the end record is not the file's own. */
async function reachPastForeignEnd(file: FileHandle, path: string, shape: ArchiveShape) {
  const { fileBytes, end, directoryAt } = shape;
  if (directoryAt === effectiveEnd(shape).directoryOffset && endOfComment(end) === fileBytes) return undefined;
  return await measureReach(file, path, fileBytes);
}

/** The directory's entries in the order of their bytes. */
function listEntries(shape: ArchiveShape): readonly WalkEntry[] {
  const listed = shape.directory.records.map((record): WalkEntry => ({ record, entry: toEntry(shape, record) }));
  return listed.sort((a, b) => a.entry.headerOffset - b.entry.headerOffset);
}

const toEntry = (shape: ArchiveShape, record: CentralRecord): ArchiveEntry => ({
  name: record.name.shown,
  folder: record.name.shown.endsWith('/'),
  bytes: record.bytes,
  compressedBytes: record.compressedBytes,
  method: record.method,
  crc32: record.crc32,
  headerOffset: startOf(shape, record),
});

function hashDirectory(shape: FileShape): string {
  const hash = createHash('sha256');
  if (shape.kind === 'archive') {
    const { end, zip64End, fileBytes } = shape.shape;
    hash.update(shape.shape.directoryBytes).update(JSON.stringify([end, zip64End, fileBytes]));
  } else if (shape.kind === 'no-end-record') hash.update(shape.head);
  return hash.digest('hex');
}

interface Identity {
  readonly bytes: number;
  /** Device, inode, size and time of change: another file, or other content, differs in one of them. */
  readonly stamp: string;
}

async function openFile(path: string): Promise<FileHandle> {
  try {
    return await openRegularFile(path);
  } catch (cause) {
    if (cause instanceof ToolError) throw cause;
    const code = systemWordOf(cause);
    if (code === 'ENOENT' || code === 'ENOTDIR') {
      throw new ToolError('file/not-found', path, `There is no file ${path}.`, 'Check the name and the folder.', cause);
    }
    if (code === 'EACCES' || code === 'EPERM') {
      const todo = 'Ask whoever owns it for the right to read it, or for a copy in a folder of your own.';
      throw new ToolError('file/not-permitted', path, `You are not allowed to read ${path}.`, todo, cause);
    }
    const todo = 'Copy the archive to another disk, or download it again.';
    throw new ToolError('file/unreadable', path, `${path} could not be opened.`, todo, cause);
  }
}

async function identify(file: FileHandle): Promise<Identity> {
  const facts = await file.stat({ bigint: true });
  return { bytes: Number(facts.size), stamp: stampOf(facts) };
}

const stampOf = (facts: { dev: bigint; ino: bigint; size: bigint; mtimeNs: bigint }): string =>
  [facts.dev, facts.ino, facts.size, facts.mtimeNs].join(' ');

/** Both the open file and whatever now bears its name must still be what was opened. */
async function expectUnchanged(file: FileHandle, path: string, identity: Identity): Promise<void> {
  const now = await file.stat({ bigint: true });
  const named = await stat(path, { bigint: true }).catch(() => undefined);
  if (stampOf(now) !== identity.stamp || named === undefined || stampOf(named) !== identity.stamp) {
    throw changedWhileRead(path);
  }
}
