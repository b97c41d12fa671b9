import { randomBytes } from 'node:crypto';
import { type FileHandle, mkdir, open } from 'node:fs/promises';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { RoundRecord } from '../../core/model/round-record.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { serialiseRecord } from '../../core/rounds/records/seal-record.ts';
import { codeOf } from '../shelf/shelf-error.ts';
import { syncFolder } from '../shelf/shelf-folder.ts';
import { lockStick } from '../volume/lock-stick.ts';
import { type Desk, writerName } from './desk.ts';
import { recordExtension, recordsFolder } from './read-lines.ts';
import { toRoundError } from './round-error.ts';

const lineFeed = 0x0a;

/** Longer than any flush; whoever waits longer writes a file of its own. */
const longestWaitMs = 5_000;

/**
 * Adds lines at the end of the writer's own file, in one write, and flushes them; when it returns they are kept. Of two
 * runs of one writer one waits for the other; where that cannot be arranged, it writes a new file that is its own.
 */
export async function appendRecords(
  place: string,
  { who, desk }: { readonly who: string; readonly desk: Desk },
  records: readonly RoundRecord[],
): Promise<void> {
  if (records.length === 0) return;
  const folder = join(place, recordsFolder);
  const lines = Buffer.from(`${records.map(serialiseRecord).join('\n')}\n`);
  try {
    await makeRecordsFolder(place, folder);
    const name = await writerName(folder, who, desk);
    const path = join(folder, `${name}${recordExtension}`);
    const release = await takeLock(path);
    if (release === undefined) {
      const own = join(folder, `${name}-${randomBytes(4).toString('hex')}${recordExtension}`);
      return await writeAtEnd(own, 'ax+', folder, lines);
    }
    try {
      await writeAtEnd(path, 'a+', folder, lines);
    } finally {
      release();
    }
  } catch (cause) {
    throw toRoundError(cause, 'write', folder);
  }
}

async function makeRecordsFolder(place: string, folder: string): Promise<void> {
  try {
    await mkdir(folder);
    await syncFolder(place);
  } catch (cause) {
    if (codeOf(cause) === 'EEXIST') return;
    if (codeOf(cause) !== 'ENOENT') throw cause;
    throw new ToolError(
      'round/not-found',
      place,
      `There is no folder of a round at ${place}.`,
      'Check the path, and whether a shared folder is connected; or name the folder with --round.',
      cause,
    );
  }
}

/** Undefined where there is no lock to be had. */
async function takeLock(path: string): Promise<(() => void) | undefined> {
  const startedMs = performance.now();
  for (;;) {
    try {
      return lockStick(`records ${path}`, path);
    } catch (cause) {
      const inUse = cause instanceof ToolError && cause.code === 'stick/in-use';
      if (!inUse || performance.now() - startedMs > longestWaitMs) return undefined;
      await wait(4 + Math.random() * 12);
    }
  }
}

/** O_APPEND: the system itself puts the bytes behind whatever is there at that moment. */
async function writeAtEnd(path: string, flags: 'a+' | 'ax+', folder: string, lines: Buffer): Promise<void> {
  const file = await open(path, flags);
  try {
    const { size } = await file.stat();
    const torn = size > 0 && (await lastByte(file, size)) !== lineFeed;
    await writeWhole(file, torn ? Buffer.concat([Buffer.of(lineFeed), lines]) : lines, path);
    await file.sync();
    if (size === 0) await syncFolder(folder);
  } finally {
    await file.close();
  }
}

async function lastByte(file: FileHandle, size: number): Promise<number | undefined> {
  const buffer = Buffer.alloc(1);
  const { bytesRead } = await file.read(buffer, 0, 1, size - 1);
  return bytesRead === 1 ? buffer[0] : undefined;
}

/** What was written in part is written whole once more, on a line of its own: nothing is ever patched. */
async function writeWhole(file: FileHandle, bytes: Buffer, path: string): Promise<void> {
  const first = await file.write(bytes, 0, bytes.length, null);
  if (first.bytesWritten === bytes.length) return;
  const again = Buffer.concat([Buffer.of(lineFeed), bytes]);
  const second = await file.write(again, 0, again.length, null);
  if (second.bytesWritten === again.length) return;
  throw new ToolError(
    'round/write-failed',
    path,
    `Only a part of the lines could be written to ${path}; they do not count.`,
    'Look whether there is space left, then run the same command again.',
  );
}
