import { type Finding, finding } from '../../findings/finding.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { checkKeptPlan } from './own-digests.ts';
import { recordInWords } from './read-visit.ts';
import type { RoomStatus } from './round-status.ts';

/** A line of the records that is torn, was changed, or is of an unknown kind. It is left where it is. */
export interface DamagedLine {
  readonly file: string;
  /** From 1. */
  readonly line: number;
  readonly problem: string;
}

interface DeskFacts {
  readonly place: string;
  readonly loads: Parameters<typeof checkKeptPlan>[0];
  readonly damaged: readonly DamagedLine[];
  /** Why the families of the plan cannot be had at this desk. */
  readonly familiesProblem: string | undefined;
}

/** What is wrong with a round's plan, records and families as they lie there, beside what its status says. */
export function checkDesk({ place, loads, damaged, familiesProblem }: DeskFacts): readonly Finding[] {
  return [
    ...checkKeptPlan(loads, place),
    ...checkDamaged(damaged),
    ...(familiesProblem === undefined ? [] : [finding('record/families-missing', place, { problem: familiesProblem })]),
  ];
}

/** FROM: the other place that they lie in; without it, the round's own. */
const checkDamaged = (damaged: readonly DamagedLine[], from?: string): readonly Finding[] =>
  damaged.map(({ file, line, problem }) =>
    finding('record/damaged-line', from === undefined ? file : `${from}: ${file}`, { line, problem }),
  );

interface MergeFacts {
  readonly from: string;
  readonly added: number;
  readonly known: number;
  readonly damaged: readonly DamagedLine[];
}

export const checkMerged = ({ from, added, known, damaged }: MergeFacts): readonly Finding[] => [
  finding('record/merged', from, { added, known }),
  ...checkDamaged(damaged, from),
];

/** Files that the round was given back in; `-` is standard output, of which nobody needs to hear. */
export const checkWrittenOut = (written: readonly { readonly path: string; readonly bytes: number }[]) =>
  written.filter(({ path }) => path !== '-').map(({ path, bytes }) => finding('record/exported', path, { bytes }));

/** That it is kept, and what comes next where a build on the way was reached. */
export function checkKept(record: RoundRecord, room: RoomStatus | undefined): readonly Finding[] {
  const kept = finding('record/kept', subjectOf(record), {
    id: record.id,
    what: recordInWords(record),
    who: record.who,
    at: record.at,
  });
  const next = room?.next;
  if (room?.progress !== 'under-way' || next === undefined) return [kept];
  const facts = { build: room.reached ?? '', next: next.build, load: next.load.id, sticks: room.sticks };
  return [kept, finding('record/step-reached', room.room.key, facts)];
}

/** The one line that an id was to stand for, and whether it is of a kind that can be withdrawn. */
export function checkWithdrawal(id: string, found: readonly RoundRecord[]): readonly Finding[] {
  const [record, ...others] = found;
  if (record === undefined || others.length > 0) {
    return [finding('record/id-unknown', id, { several: found.map((one) => one.id) })];
  }
  return record.kind === 'withdrawn' ? [finding('record/withdrawal-not-withdrawn', record.id)] : [];
}

export const checkWithdrawn = (record: RoundRecord, because: string): readonly Finding[] => [
  finding('record/withdrawn', subjectOf(record), { what: recordInWords(record), because }),
];

const subjectOf = (record: RoundRecord): string => ('room' in record ? record.room : record.id);
