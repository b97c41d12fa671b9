import { startRecordFile } from './append-records.ts';
import { listRecords } from './list-records.ts';
import { mergeRecords } from './merge-records.ts';
import type { RoundFolder } from './rounds.ts';

/** The records of a round, of which each run of the program adds a file of its own. */
export const openRecords = (place: string, who: string): Pick<RoundFolder, 'records' | 'append' | 'merge'> => ({
  records: () => listRecords(place),
  append: startRecordFile(place, who),
  merge: (from) => mergeRecords(place, from),
});
