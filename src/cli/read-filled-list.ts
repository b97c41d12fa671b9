import { type Finding, finding } from '../core/findings/finding.ts';
import { identifyList } from '../core/rounds/list/find-heading-row.ts';
import type { ListTable } from '../core/rounds/list/list-table.ts';
import { readCsv } from '../io/rooms/read-csv.ts';
import { readListFile } from '../io/rooms/read-list-file.ts';
import { readXlsx } from '../io/rooms/workbook/read-xlsx.ts';
import { readKeptList } from '../io/rounds/copy-list.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';

export interface FilledList {
  readonly table: ListTable | undefined;
  readonly findings: readonly Finding[];
  readonly roomHeading: string | undefined;
}

/** The rows of a filled-in list, CSV or a workbook, and how the round's own list heads its rooms. */
export async function readFilledList(path: string, folder: RoundFolder): Promise<FilledList> {
  const bytes = await readListFile(path);
  const roomHeading = await headingOf(folder);
  if (bytes === undefined) {
    return { table: undefined, findings: [finding('room/too-large', path, { what: 'more than 32 MB' })], roomHeading };
  }
  const identity = identifyList(bytes);
  const no = () => undefined;
  switch (identity.kind) {
    case 'text':
      return { ...readCsv(bytes, path, {}, no), roomHeading };
    case 'zip':
      return { ...(await readXlsx(bytes, path, undefined)), roomHeading };
    case 'other':
      return { table: undefined, findings: [finding('room/not-a-list', path, { kind: identity.what })], roomHeading };
  }
}

/** A round whose list is gone still takes a list with usual headings. */
async function headingOf(folder: RoundFolder): Promise<string | undefined> {
  const round = await folder.plan();
  const column = round?.list.columns.room;
  if (round === undefined || column === undefined) return undefined;
  return (await readKeptList(folder, round).catch(() => undefined))?.headings[column];
}
