import { appendRecords } from './append-records.ts';
import { type Desk, readDesk } from './desk.ts';
import { listRecords } from './list-records.ts';
import { mergeRecords } from './merge-records.ts';
import type { RoundFolder } from './rounds.ts';

/** The records of a round: one file for each desk and person, which only grows. */
export function openRecords(
  place: string,
  who: string,
  desk: () => Promise<Desk> = readDesk,
): Pick<RoundFolder, 'records' | 'append' | 'merge'> {
  return {
    records: () => listRecords(place),
    append: async (records) => appendRecords(place, { who, desk: await desk() }, records),
    merge: (from) => mergeRecords(place, from),
  };
}
