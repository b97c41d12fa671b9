import { createHash, randomBytes } from 'node:crypto';
import { readdir, stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { isOfPocket, type PocketReading, readPocketText } from '../../core/rounds/pocket/read-pocket.ts';
import type { DamagedLine } from '../../core/rounds/records/check-records.ts';
import { compareRecords, uniteRecords } from '../../core/rounds/records/order-records.ts';
import { lineStart, serialiseRoundRecord } from '../../core/rounds/records/own-digests.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from '../files/durable-files.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { keepPhotos, listPockets, nodePocketTools } from './pocket-files.ts';
import {
  type BrokenLine,
  type FileReading,
  largestRecordsBytes,
  readRecordFile,
  readRecordFiles,
  recordExtension,
  recordsFolder,
  type WholeLine,
} from './read-lines.ts';
import { type Merged, type RecordListing, toRoundError } from './rounds.ts';

/**
 * Takes in what another folder or file has and this one has not, byte for byte, as a new file that shows its name only
 * when it is written and flushed. Lines that are not whole are taken along too: a later version may read them.
 */
export async function mergeRecords(place: string, from: string): Promise<Merged> {
  const { pocket, ...theirs } = await readSource(from, place);
  const folder = join(place, recordsFolder);
  const ours = await readRecordFiles(folder);
  const known = new Set(ours.whole.map(({ record }) => record.selfSha256));
  const lines = new Map<string, WholeLine>();
  for (const line of theirs.whole) lines.set(line.record.selfSha256, line);
  const added = [...lines.values()].filter(({ record }) => !known.has(record.selfSha256));
  const kept = new Set(ours.broken.map(({ bytes }) => bytes.toString('latin1')));
  const damage = distinctDamage(theirs);
  const taken = [
    ...added.toSorted((a, b) => compareRecords(a.record, b.record)).map(({ bytes }) => bytes),
    ...damage.map(({ bytes }) => bytes).filter((bytes) => !kept.has(bytes.toString('latin1'))),
  ];
  if (taken.length > 0) await writeMerged(folder, taken);
  await keepPhotos(place, pocket?.photos ?? []);
  const damaged = damage.map(({ file, line, problem }) => ({ file, line, problem }));
  return { added: added.length, known: lines.size - added.length, damaged, pocket };
}

interface Source extends FileReading {
  readonly pocket?: PocketReading;
}

/** A round's folder, its folder of records, one file, or what came back from a phone that PLACE gave a file to. */
async function readSource(from: string, place: string): Promise<Source> {
  const facts = await stat(from).catch((cause) => {
    if (systemWordOf(cause) !== 'ENOENT' && systemWordOf(cause) !== 'ENOTDIR') throw toRoundError(cause, 'read', from);
    throw new ToolError('round/not-found', from, `There is no ${from}.`, 'Check the path; nothing was merged.', cause);
  });
  if (!facts.isDirectory()) return (await readFromPhone(from, place)) ?? (await readRecordFile(from, basename(from)));
  const names = await readdir(from).catch((cause) => {
    throw toRoundError(cause, 'read', from);
  });
  if (names.includes(recordsFolder)) return await readRecordFiles(join(from, recordsFolder));
  if (names.some((name) => name.endsWith(recordExtension))) return await readRecordFiles(from);
  // A round in which nothing was done yet.
  if (names.includes('round.json')) return { whole: [], broken: [] };
  throw new ToolError(
    'round/not-found',
    from,
    `${from} holds no records of a round.`,
    `Name the other round's folder, or a file that ends in ${recordExtension}; nothing was merged.`,
  );
}

/** Undefined where FROM is none of what a phone gives out. */
async function readFromPhone(from: string, place: string): Promise<Source | undefined> {
  const bytes = await readRegularFile(from, largestRecordsBytes).catch((cause) => {
    throw toRoundError(cause, 'read', from);
  });
  const text = bytes.toString('utf8');
  // In a file of records a person's words may look like anything.
  if (!isOfPocket(text) || text.startsWith(lineStart) || text.includes(`\n${lineStart}`)) return undefined;
  const pocket = readPocketText(text, await listPockets(place), nodePocketTools);
  const whole = pocket.records.map((record, index) => ({
    record,
    file: basename(from),
    line: index + 1,
    bytes: Buffer.from(serialiseRoundRecord(record)),
  }));
  return { whole, broken: [], pocket };
}

/** The name is made from the content: the same merge on two desks that share the folder is one file. */
async function writeMerged(folder: string, lines: readonly Buffer[]): Promise<void> {
  const content = Buffer.concat(lines.flatMap((line) => [line, Buffer.of(0x0a)]));
  const name = `merged-${createHash('sha256').update(content).digest('hex').slice(0, 24)}${recordExtension}`;
  const path = join(folder, name);
  const draft = `${path}.${randomBytes(6).toString('hex')}.new`;
  try {
    await makeFolders(folder);
    await writeDurably(draft, content);
    await moveInto(draft, path);
    if ((await readRegularFile(path, content.length)).equals(content)) return;
  } catch (cause) {
    await removeFile(draft).catch(() => {});
    throw toRoundError(cause, 'write', path);
  }
  throw new ToolError(
    'round/write-failed',
    path,
    `What was written to ${path} came back different.`,
    'Keep the other folder as it is, have this storage examined, and merge again elsewhere.',
  );
}

/** Every whole record of every writer, each once, and what is not whole. */
export async function listRecords(place: string): Promise<RecordListing> {
  return listingOf(await readRecordFiles(join(place, recordsFolder)));
}

function listingOf(reading: FileReading): RecordListing {
  const { records, rivals } = uniteRecords(reading.whole.map(({ record }) => record));
  const damaged = distinctDamage(reading).map(({ file, line, problem }) => ({ file, line, problem }));
  return { records, damaged: [...damaged, ...rivals.flatMap((rival) => rivalLine(rival.selfSha256, reading))] };
}

/**
 * The broken lines, each content once. A line that was torn and is whole elsewhere (it was written once more, or its
 * copy was taken while it was being written) lost nothing and is left out.
 */
function distinctDamage({ whole, broken }: FileReading): readonly BrokenLine[] {
  const byId = new Map(whole.map((line) => [line.record.id, line.bytes]));
  const seen = new Set<string>();
  return broken.filter(({ bytes }) => {
    const text = bytes.toString('latin1');
    if (seen.has(text)) return false;
    seen.add(text);
    const id = /"id":"([0-9a-f-]{36})"/.exec(text)?.[1];
    const same = id === undefined ? undefined : byId.get(id);
    return same === undefined || !same.subarray(0, bytes.length).equals(bytes);
  });
}

function rivalLine(digest: string, { whole }: FileReading): readonly DamagedLine[] {
  const found = whole.find(({ record }) => record.selfSha256 === digest);
  if (found === undefined) return [];
  const problem = `another line has the same id (${found.record.id}) and says something else`;
  return [{ file: found.file, line: found.line, problem }];
}
