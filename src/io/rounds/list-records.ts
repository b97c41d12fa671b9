import { join } from 'node:path';
import { uniteRecords } from '../../core/rounds/records/order-records.ts';
import { type BrokenLine, type FileReading, readRecordFiles, recordsFolder } from './read-lines.ts';
import type { DamagedLine, RecordListing } from './rounds.ts';

/** Every whole record of every writer, each once, and what is not whole. */
export async function listRecords(place: string): Promise<RecordListing> {
  return listingOf(await readRecordFiles(join(place, recordsFolder)));
}

export function listingOf(reading: FileReading): RecordListing {
  const { records, rivals } = uniteRecords(reading.whole.map(({ record }) => record));
  const damaged = distinctDamage(reading).map(({ file, line, problem }) => ({ file, line, problem }));
  return { records, damaged: [...damaged, ...rivals.flatMap((rival) => rivalLine(rival.selfSha256, reading))] };
}

/**
 * The broken lines, each content once. A line that was torn and is whole elsewhere (it was written once more, or its copy
 * was taken while it was being written) lost nothing and is left out.
 */
export function distinctDamage({ whole, broken }: FileReading): readonly BrokenLine[] {
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
