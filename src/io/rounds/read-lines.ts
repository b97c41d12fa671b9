import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import type { DocumentReading } from '../../core/documents/own-digest.ts';
import type { RoundRecord } from '../../core/model/round-record.ts';
import { systemWordOf } from '../../core/model/tool-error.ts';
import { lineStart, parseRecordLine } from '../../core/rounds/records/own-digests.ts';
import { sha256 } from '../digest/node-digest.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { toRoundError } from './rounds.ts';

export const recordsFolder = 'records';
export const recordExtension = '.jsonl';

export interface WholeLine {
  readonly record: RoundRecord;
  readonly file: string;
  readonly line: number;
  readonly bytes: Buffer;
}

/** Bytes that are no whole record: kept as they are. */
export interface BrokenLine {
  readonly file: string;
  /** From 1. */
  readonly line: number;
  readonly problem: string;
  readonly bytes: Buffer;
}

export interface FileReading {
  readonly whole: readonly WholeLine[];
  readonly broken: readonly BrokenLine[];
}

const lineFeed = 0x0a;
const startBytes = Buffer.from(lineStart);

/** Splits a file of records. A whole line that follows a torn one without a line break is found too. */
export function readLines(content: Buffer, file: string): FileReading {
  const whole: WholeLine[] = [];
  const broken: BrokenLine[] = [];
  let line = 0;
  for (let at = 0; at < content.length; ) {
    line++;
    const end = content.indexOf(lineFeed, at);
    const bytes = content.subarray(at, end === -1 ? undefined : end);
    at = end === -1 ? content.length : end + 1;
    for (const part of partsOf(bytes)) {
      const text = part.toString('utf8');
      if (text.replace('\uFEFF', '').trim() === '') continue;
      const reading = parseRecordLine(text, sha256);
      if (reading.state === 'whole') whole.push({ record: reading.document, file, line, bytes: part });
      else broken.push({ file, line, problem: problemOf(reading), bytes: part });
    }
  }
  return { whole, broken };
}

const problemOf = (reading: Exclude<DocumentReading<RoundRecord>, { state: 'whole' }>): string =>
  reading.state === 'broken' ? reading.problem : `it has the form ${reading.schema}, of a later version of stickwright`;

/** A line from each place where a record begins; one part where nothing is wrong. */
function partsOf(bytes: Buffer): readonly Buffer[] {
  const parts: Buffer[] = [];
  let from = 0;
  for (let next = bytes.indexOf(startBytes, 1); next !== -1; next = bytes.indexOf(startBytes, next + 1)) {
    parts.push(bytes.subarray(from, next));
    from = next;
  }
  return [...parts, bytes.subarray(from)];
}

/** Long enough for a line that is being written just now to be finished. */
const writingMs = 40;
/** One run of one person; merged files have the lines of many, and are still far below. */
export const largestRecordsBytes = 256 * 2 ** 20;

/** Reads a file; where its end is torn it is looked at once more, for somebody may be writing it just now. */
export async function readRecordFile(path: string, name: string): Promise<FileReading> {
  try {
    const content = await readRegularFile(path, largestRecordsBytes);
    const reading = readLines(content, name);
    const endsTorn = content.length > 0 && content.at(-1) !== lineFeed && reading.broken.length > 0;
    if (!endsTorn) return reading;
    await wait(writingMs);
    return readLines(await readRegularFile(path, largestRecordsBytes), name);
  } catch (cause) {
    throw toRoundError(cause, 'read', path);
  }
}

/** Files that are read at the same time. */
const atOnce = 32;

/** Every file of records in a folder, in the order of names; nothing where there is no such folder. */
export async function readRecordFiles(folder: string): Promise<FileReading> {
  const entries = await readdir(folder).catch((cause) => {
    if (systemWordOf(cause) === 'ENOENT') return [];
    throw toRoundError(cause, 'read', folder);
  });
  const names = entries.filter((name) => name.endsWith(recordExtension) && !name.startsWith('.')).toSorted();
  const read: FileReading[] = [];
  for (let at = 0; at < names.length; at += atOnce) {
    const some = names.slice(at, at + atOnce);
    read.push(...(await Promise.all(some.map((name) => readRecordFile(join(folder, name), name)))));
  }
  return { whole: read.flatMap(({ whole }) => whole), broken: read.flatMap(({ broken }) => broken) };
}
