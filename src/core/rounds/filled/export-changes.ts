import type { RoomList } from '../../model/room.ts';
import type { CellChange } from '../list/give-back.ts';
import { normaliseHeading } from '../list/normalise-heading.ts';
import type { RoomProgress, RoomStatus, RoundStatus } from '../records/round-status.ts';
import { type FilledField, filledFields, filledHeadings, ownHeading } from './filled-columns.ts';

/** What the column for the outcome says; read again by outcome-words.ts. */
export const progressWords: Readonly<Record<RoomProgress, string>> = {
  done: 'done',
  'under-way': 'under way',
  unclear: 'unclear',
  failed: 'failed',
  skipped: 'skipped',
  prepared: 'prepared',
  open: 'open',
  held: 'held',
  'up-to-date': 'up to date',
};

/** What is to be written into the owner's list: the running build where a new one was read, and what was done at the right. */
export function exportChanges({ rooms }: RoundStatus, list: RoomList): readonly CellChange[] {
  const headings = headingsFor(list);
  return rooms.flatMap((status) => {
    const { row } = status.room;
    const cells = cellsOf(status);
    const running: readonly CellChange[] =
      status.reached !== null && list.columns.running !== undefined
        ? [{ row, column: 'running', text: status.reached }]
        : [];
    return [
      ...running,
      ...filledFields.map((field) => ({ row, column: { heading: headings[field] }, text: cells[field] })),
    ];
  });
}

/** A list that has such a column of its own keeps it: ours is then named as the round's. Our own export is filled again. */
function headingsFor({ headings }: RoomList): Readonly<Record<FilledField, string>> {
  const there = new Set(headings.map(normaliseHeading));
  const has = (field: FilledField): boolean => there.has(normaliseHeading(filledHeadings[field]));
  if (filledFields.every(has)) return filledHeadings;
  const named = (field: FilledField): string => (has(field) ? ownHeading(field) : filledHeadings[field]);
  return {
    outcome: named('outcome'),
    build: named('build'),
    at: named('at'),
    who: named('who'),
    stick: named('stick'),
    words: named('words'),
  };
}

function cellsOf({ progress, last }: RoomStatus): Readonly<Record<FilledField, string>> {
  const visit = last?.visit;
  return {
    outcome: progressWords[progress],
    build: visit?.buildAfter ?? '',
    at: visit?.at ?? '',
    who: visit?.who ?? '',
    stick: visit?.stick ?? '',
    words: visit?.text ?? '',
  };
}
