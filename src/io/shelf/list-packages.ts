import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { DamagedEntry } from '../../core/checks/shelf/check-listing.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import { parseRecord } from '../../core/shelf/seal-record.ts';
import { recordName, type ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { sha256 } from '../digest/sha256.ts';
import { readRegularFile, readRegularFileSync } from '../files/regular-file.ts';
import type { ShelfListing } from './shelf.ts';
import { codeOf, toShelfError } from './shelf-error.ts';
import { shelfLayout } from './shelf-folder.ts';

export const idPattern = /^([0-9a-f]{64})-[0-9a-f]{12}$/;

/** Records that are read at the same time: enough to hide a network's delay, few enough for any system's limits. */
const atOnce = 64;
/** A record with the longest note and many findings has less. */
const largestRecordBytes = 16 * 2 ** 20;

/** Reads every record on the shelf. */
export async function listPackages(place: string): Promise<ShelfListing> {
  const packages = join(place, shelfLayout.packages);
  const names = await readdir(packages).catch((cause) => {
    if (codeOf(cause) === 'ENOENT') return [];
    throw toShelfError(cause, 'read', packages);
  });
  const ids = names.filter((name) => idPattern.test(name)).toSorted();
  const found: Entry[] = [];
  const read = recordReader();
  for (let at = 0; at < ids.length; at += atOnce) {
    found.push(...(await Promise.all(ids.slice(at, at + atOnce).map((id) => readEntry(packages, id, read)))));
  }
  return {
    packages: found.filter((one) => one !== undefined && 'record' in one),
    damaged: found.filter((one) => one !== undefined && 'problem' in one),
  };
}

/** Undefined where the package was removed meanwhile. */
type Entry = ShelvedPackage | DamagedEntry | undefined;

type ReadBytes = (path: string) => Buffer | Promise<Buffer>;

/** A local disk answers sooner than this. */
const promptMs = 0.3;
const tried = 33;

/**
 * Reads the first records one after the other. Where most of them come promptly it goes on so, which takes a fifth of the
 * time of many at once; where the shelf is far away the others are read together.
 */
function recordReader(): ReadBytes {
  const tookMs: number[] = [];
  return (path) => {
    if (tookMs.length >= tried && !isPrompt(tookMs)) return readRegularFile(path, largestRecordBytes);
    const startedMs = performance.now();
    try {
      return readRegularFileSync(path, largestRecordBytes);
    } finally {
      if (tookMs.length < tried) tookMs.push(performance.now() - startedMs);
    }
  };
}

const isPrompt = (tookMs: readonly number[]): boolean =>
  tookMs.filter((ms) => ms < promptMs).length > tookMs.length / 2;

async function readEntry(packages: string, id: string, read: ReadBytes): Promise<Entry> {
  const folder = join(packages, id);
  let text: string;
  try {
    text = (await read(join(folder, recordName))).toString('utf8');
  } catch (cause) {
    return await withoutRecord(folder, id, cause);
  }
  const reading = parseRecord(text, sha256);
  if (reading.state === 'whole') {
    const { document: record } = reading;
    if (id.startsWith(record.sha256)) return { id, path: join(folder, record.name), record };
    return await damaged(folder, id, 'it is the record of another package', undefined);
  }
  if (reading.state === 'newer') return await damaged(folder, id, 'a later version wrote it', reading.schema);
  return await damaged(folder, id, reading.problem, undefined);
}

async function withoutRecord(folder: string, id: string, cause: unknown): Promise<DamagedEntry | undefined> {
  const files = await readdir(folder).catch(() => undefined);
  if (files === undefined) return undefined;
  // Removing takes the whole folder away before anything in it is deleted, so a folder without a record is damage.
  const said = cause instanceof ToolError ? cause.message : (codeOf(cause) ?? String(cause));
  const problem = codeOf(cause) === 'ENOENT' ? 'it is missing' : `it cannot be read (${said})`;
  return { id, files: files.filter((name) => name !== recordName), problem, newer: undefined };
}

async function damaged(
  folder: string,
  id: string,
  problem: string,
  newer: string | undefined,
): Promise<DamagedEntry | undefined> {
  const files = await readdir(folder).catch(() => undefined);
  return files && { id, files: files.filter((name) => name !== recordName), problem, newer };
}
