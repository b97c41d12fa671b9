import { mkdir, readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import type { DamagedEntry } from '../../core/shelf/check-newcomer.ts';
import type { Leftovers } from '../../core/shelf/check-shelf.ts';
import { shelfRecordName } from '../../core/shelf/newcomer-rules.ts';
import { parseShelfRecord, type ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import { sha256 } from '../digest/node-digest.ts';
import { readRegularFile, readRegularFileSync } from '../files/regular-file.ts';
import type { ShelfListing } from './shelf.ts';
import { newTag, shelfLayout, toShelfError } from './shelf-folder.ts';

const idPattern = /^([0-9a-f]{64})-[0-9a-f]{12}$/;

/** Records that are read at the same time: enough to hide a network's delay, few enough for any system's limits. */
const atOnce = 64;
/** A record with the longest note and many findings has less. */
const largestRecordBytes = 16 * 2 ** 20;

/** Reads every record on the shelf. */
export async function listPackages(place: string): Promise<ShelfListing> {
  const packages = join(place, shelfLayout.packages);
  const names = await readdir(packages).catch((cause) => {
    if (systemWordOf(cause) === 'ENOENT') return [];
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
 * Reads the first records one after the other. Where most of them come promptly it goes on so, which takes a fifth of
 * the time of many at once; where the shelf is far away the others are read together.
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
    text = (await read(join(folder, shelfRecordName))).toString('utf8');
  } catch (cause) {
    return await withoutRecord(folder, id, cause);
  }
  const reading = parseShelfRecord(text, sha256);
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
  const said = cause instanceof ToolError ? cause.message : (systemWordOf(cause) ?? String(cause));
  const problem = systemWordOf(cause) === 'ENOENT' ? 'it is missing' : `it cannot be read (${said})`;
  return { id, files: files.filter((name) => name !== shelfRecordName), problem, newer: undefined };
}

async function damaged(
  folder: string,
  id: string,
  problem: string,
  newer: string | undefined,
): Promise<DamagedEntry | undefined> {
  const files = await readdir(folder).catch(() => undefined);
  return files && { id, files: files.filter((name) => name !== shelfRecordName), problem, newer };
}

/** A desk that still adds touches its file all the time; one that has not for a day was cut off. */
const untouchedMs = 24 * 60 * 60 * 1000;

interface Unfinished {
  readonly name: string;
  readonly path: string;
  readonly bytes: number;
  readonly touchedMs: number;
}

/** What does not belong on the shelf, and what desks that were cut off left. */
export async function findLeftovers(place: string): Promise<Leftovers> {
  const unfinished = (await findUnfinished(place)).map(({ name, bytes, touchedMs }) => ({
    name,
    bytes,
    since: new Date(touchedMs).toISOString(),
  }));
  return { strangers: await findStrangers(place), unfinished };
}

/**
 * Clears away what has been untouched for a day, by the clock of the file system that the shelf lies on: the clocks of
 * desks differ. Whatever cannot be cleared stays for the next time.
 */
export async function clearLeftovers(place: string): Promise<void> {
  const found = await findUnfinished(place);
  if (found.length === 0) return;
  const nowMs = await clockOf(place);
  if (nowMs === undefined) return;
  for (const { path, touchedMs } of found) {
    if (nowMs - touchedMs > untouchedMs) await rm(path, { recursive: true, force: true }).catch(() => {});
  }
}

async function clockOf(place: string): Promise<number | undefined> {
  const probe = join(place, shelfLayout.incoming, newTag());
  try {
    await mkdir(probe, { recursive: true });
    return (await stat(probe)).mtimeMs;
  } catch {
    return undefined;
  } finally {
    await rm(probe, { recursive: true, force: true }).catch(() => {});
  }
}

async function findUnfinished(place: string): Promise<readonly Unfinished[]> {
  const found: Unfinished[] = [];
  for (const where of [shelfLayout.incoming, shelfLayout.removed]) {
    for (const name of await namesIn(join(place, where))) {
      const path = join(place, where, name);
      const inside = await namesIn(path);
      const facts = await Promise.all([path, ...inside.map((one) => join(path, one))].map((one) => factsOf(one)));
      const known = facts.filter((one) => one !== undefined);
      if (known.length === 0) continue;
      const files = known.filter((one) => one.isFile());
      const bytes = files.reduce((sum, { size }) => sum + size, 0);
      found.push({ name: `${where}/${name}`, path, bytes, touchedMs: Math.max(...known.map((one) => one.mtimeMs)) });
    }
  }
  return found;
}

async function findStrangers(place: string): Promise<Leftovers['strangers']> {
  const own: readonly string[] = Object.values(shelfLayout);
  const atRoot = (await namesIn(place)).filter((name) => !own.includes(name));
  const packages = join(place, shelfLayout.packages);
  const ids = await namesIn(packages);
  const strangers: { name: string; where: string; id: string | undefined }[] = [
    ...atRoot.map((name) => ({ name, where: place, id: undefined })),
    ...ids.filter((name) => !idPattern.test(name)).map((name) => ({ name, where: packages, id: undefined })),
  ];
  for (const id of ids.filter((name) => idPattern.test(name))) {
    const names = (await namesIn(join(packages, id))).filter((name) => name !== shelfRecordName);
    strangers.push(...names.map((name) => ({ name, where: join(packages, id), id })));
  }
  return strangers;
}

const namesIn = async (folder: string): Promise<readonly string[]> =>
  (await readdir(folder).catch(() => [])).toSorted();

const factsOf = async (path: string) => await stat(path).catch(() => undefined);
