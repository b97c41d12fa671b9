import { randomBytes } from 'node:crypto';
import { type FileHandle, mkdir, open } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import type { RoundRecord } from '../../core/model/round-record.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { serialiseRoundRecord } from '../../core/rounds/records/own-digests.ts';
import { syncFolder } from '../files/durable-files.ts';
import { recordExtension, recordsFolder } from './read-lines.ts';
import { toRoundError } from './rounds.ts';

const lineFeed = Buffer.of(0x0a);

/**
 * The records that one run of the program adds, in a file that is this run's alone: no two runs ever write one file, so
 * nothing must be locked, on no file system. A file never changes once its run has ended, so that copying a folder over
 * another by hand, or letting a program keep two alike, is a merge too.
 */
export function startRecordFile(place: string, who: string): (records: readonly RoundRecord[]) => Promise<void> {
  const folder = join(place, recordsFolder);
  const path = join(folder, `${recordFileName(who)}${recordExtension}`);
  let begun = false;
  /** Whether the last write ended with its line. */
  let torn = false;
  let last: Promise<void> = Promise.resolve();

  /** In one write, and flushed: when it returns they are kept. */
  const append = async (records: readonly RoundRecord[]): Promise<void> => {
    const lines = Buffer.from(`${records.map(serialiseRoundRecord).join('\n')}\n`);
    try {
      if (!begun) await makeRecordsFolder(place, folder);
      const file = await open(path, begun ? 'a' : 'ax');
      const isFirst = !begun;
      begun = true;
      try {
        const bytes = torn ? Buffer.concat([lineFeed, lines]) : lines;
        torn = true;
        await writeWhole(file, bytes, path);
        torn = false;
        await file.sync();
      } finally {
        await file.close();
      }
      if (isFirst) await syncFolder(folder);
    } catch (cause) {
      throw toRoundError(cause, 'write', path);
    }
  };

  return (records) => {
    if (records.length === 0) return Promise.resolve();
    const mine = last.catch(() => {}).then(() => append(records));
    last = mine;
    return mine;
  };
}

/** `ada-cart.1-20261103T064012Z-3f9a2c01b7de`: readable, legal on every system, and never twice. */
export function recordFileName(who: string, now = new Date()): string {
  const stamp = now.toISOString().replace(/\.\d+/, '').replace(/[-:]/g, '');
  return [plain(who, 'person'), plain(hostname(), 'desk'), stamp, randomBytes(6).toString('hex')].join('-');
}

function plain(text: string, otherwise: string): string {
  const letters = text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();
  const words = letters.replace(/[^a-z0-9]+/g, '.').slice(0, 20);
  return words.replace(/^\.+|\.+$/g, '') || otherwise;
}

async function makeRecordsFolder(place: string, folder: string): Promise<void> {
  try {
    await mkdir(folder);
    await syncFolder(place);
  } catch (cause) {
    if (systemWordOf(cause) === 'EEXIST') return;
    if (systemWordOf(cause) !== 'ENOENT') throw cause;
    throw new ToolError(
      'round/not-found',
      place,
      `There is no folder of a round at ${place}.`,
      'Check the path, and whether a shared folder is connected; or name the folder with --round.',
      cause,
    );
  }
}

/** What was written in part is written whole once more, on a line of its own: nothing is ever patched. */
async function writeWhole(file: FileHandle, bytes: Buffer, path: string): Promise<void> {
  if ((await file.write(bytes)).bytesWritten === bytes.length) return;
  const again = Buffer.concat([lineFeed, bytes]);
  if ((await file.write(again)).bytesWritten === again.length) return;
  throw new ToolError(
    'round/write-failed',
    path,
    `Only a part of the lines could be written to ${path}; they do not count.`,
    'Look whether there is space left, then run the same command again.',
  );
}
