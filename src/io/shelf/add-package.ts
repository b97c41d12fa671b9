import { type FileHandle, open, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { shelfRecordName } from '../../core/shelf/newcomer-rules.ts';
import { type ShelfRecord, type ShelvedPackage, serialiseShelfRecord } from '../../core/shelf/shelf-record.ts';
import { readWhole, writeAll } from '../files/copy-file.ts';
import { makeFolders, moveInto, removeTree, syncFolder, writeDurably } from '../files/durable-files.ts';
import type { Incoming } from './shelf.ts';
import { newTag, shelfLayout, toShelfError } from './shelf-folder.ts';

/**
 * Keeps a package in a folder of its own below `incoming`, where nobody looks, and moves that folder to its place when
 * all is written and flushed: first the bytes, then the record, then the one rename that shows both.
 */
export async function addPackage(place: string, name: string): Promise<Incoming> {
  const tag = newTag();
  const folder = join(place, shelfLayout.incoming, tag);
  const path = join(folder, name);
  const file = await begin(place, folder, path);
  let bytes = 0;
  let open_ = true;
  const close = async (): Promise<void> => {
    if (open_) await file.close();
    open_ = false;
  };
  return {
    listener: {
      async raw(chunk) {
        await writeAll(file, chunk, bytes).catch(failed(path));
        bytes += chunk.byteLength;
      },
    },
    async publish(record) {
      await file.sync().catch(failed(path));
      await close().catch(failed(path));
      await expectWritten(path, record);
      return await show({ place, folder, tag, record });
    },
    async discard() {
      await close();
      await removeTree(folder);
    },
  };
}

const failed =
  (path: string) =>
  (cause: unknown): never => {
    throw toShelfError(cause, 'write', path);
  };

async function begin(place: string, folder: string, path: string): Promise<FileHandle> {
  try {
    await makeFolders(join(place, shelfLayout.packages));
    await makeFolders(folder);
    return await open(path, 'wx');
  } catch (cause) {
    throw toShelfError(cause, 'write', path);
  }
}

/** Reads back what was written, as the system has it. */
async function expectWritten(path: string, { sha256, bytes }: ShelfRecord): Promise<void> {
  const written = await readWhole(path, () => {}).catch((cause) => {
    throw toShelfError(cause, 'read', path);
  });
  if (written.sha256 === sha256 && written.bytes === bytes) return;
  throw new ToolError(
    'shelf/write-failed',
    path,
    `What was written to ${path} came back different.`,
    'Nothing was added. Have the storage of the shelf examined before you trust it, then run the same command again.',
  );
}

async function show(ready: {
  readonly place: string;
  readonly folder: string;
  readonly tag: string;
  readonly record: ShelfRecord;
}): Promise<ShelvedPackage> {
  const { place, folder, tag, record } = ready;
  const id = `${record.sha256}-${tag}`;
  const packages = join(place, shelfLayout.packages);
  const shelved = { id, path: join(packages, id, record.name), record };
  try {
    await writeDurably(join(folder, shelfRecordName), serialiseShelfRecord(record));
    await syncFolder(folder);
    await moveInto(folder, join(packages, id));
  } catch (cause) {
    throw toShelfError(cause, 'write', join(packages, id));
  }
  await expectShown(join(packages, id), shelved);
  return shelved;
}

/** A few drivers lose what is in a folder that they move (seen: fusefat 0.1a). Nobody is then told that it is kept. */
async function expectShown(folder: string, { path, record }: ShelvedPackage): Promise<void> {
  const facts = await Promise.all([stat(path), stat(join(folder, shelfRecordName))]).catch(() => undefined);
  if (facts !== undefined && facts[0].size === record.bytes) return;
  await removeTree(folder).catch(() => {});
  throw new ToolError(
    'shelf/write-failed',
    path,
    `${path} was written, but is not there after it was moved to its place.`,
    'The file system that the shelf lies on cannot be relied on. Put the shelf elsewhere, and add the package again there.',
  );
}
