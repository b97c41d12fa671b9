import type { ListReading } from '../../core/rounds/list/check-list.ts';
import { readTable } from '../rooms/read-table.ts';
import { readKeptList } from './copy-list.ts';
import type { RoundFolder } from './rounds.ts';

export interface FilledList {
  readonly read: ListReading;
  readonly roomHeading: string | undefined;
}

/** The rows of a filled-in list, CSV or a workbook, and how the round's own list heads its rooms. */
export async function readFilledList(path: string, folder: RoundFolder): Promise<FilledList> {
  const read = await readTable(path, { named: {}, recall: () => undefined, sheet: undefined });
  return { read, roomHeading: await headingOf(folder) };
}

/** A round whose list is gone still takes a list with usual headings. */
async function headingOf(folder: RoundFolder): Promise<string | undefined> {
  const round = await folder.plan();
  const column = round?.list.columns.room;
  if (round === undefined || column === undefined) return undefined;
  return (await readKeptList(folder, round).catch(() => undefined))?.headings[column];
}
