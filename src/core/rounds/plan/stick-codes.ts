import type { Load, Turn } from '../../model/round.ts';
import type { RoundRecord, RoundRecordOf } from '../../model/round-record.ts';

type Prepared = RoundRecordOf<'prepared'>;

/** The lines that still count: those that nobody withdrew. */
export function withoutWithdrawn(records: readonly RoundRecord[]): readonly RoundRecord[] {
  const gone = new Set(records.flatMap((record) => (record.kind === 'withdrawn' ? [record.withdraws] : [])));
  return records.filter(({ id }) => !gone.has(id));
}

/**
 * The sticks that carry LOAD as far as the records tell, the latest first. It is known by package and mode: its letter
 * may have moved in a newer plan. A stick that was prepared again for something else, or cleared when it came back,
 * carries it no more.
 */
export function sticksOf(load: Load, records: readonly RoundRecord[]): readonly Prepared[] {
  const last = new Map<string, Prepared | undefined>();
  for (const record of inTime(withoutWithdrawn(records))) {
    if (record.kind === 'prepared' && record.stick !== null) last.set(record.stick, record);
    if (record.kind === 'returned' && record.cleared) last.set(record.stick, undefined);
  }
  const carrying = [...last.values()].filter((one): one is Prepared => one !== undefined && carries(one, load));
  return inTime(carrying).reverse();
}

const carries = (prepared: Prepared, load: Load): boolean =>
  prepared.package?.sha256 === load.package.sha256 && prepared.mode === load.mode;

/** By the moment, not by its text: desks may note it with other offsets. */
const inTime = <One extends RoundRecord>(records: readonly One[]): One[] =>
  [...records].sort((a, b) => Date.parse(a.at) - Date.parse(b.at));

/** Codes of what was not proven of a stick when it was prepared. Lines of version 1 do not say it. */
export const doubtsOfStick = (prepared: Prepared): readonly string[] =>
  prepared.schema === 'stickwright/round-record/2' ? prepared.unproven : ['verify/older-manifest'];

/** Of the sticks that carry a load, or of the load itself where none is prepared yet. */
export const doubtsOfLoad = (load: Load, sticks: readonly Prepared[]): readonly string[] =>
  sticks.length === 0 ? load.unproven : [...new Set(sticks.flatMap(doubtsOfStick))];

/**
 * A letter for each load, in the order in which their first sticks are prepared: A … Z, AA, AB …, as the columns of a
 * spreadsheet.
 */
export function letterLoads(turns: readonly Turn[]): ReadonlyMap<string, string> {
  const inOrder = [...new Set(turns.map(({ load }) => load))];
  return new Map(inOrder.map((load, index) => [load, letterAt(index)]));
}

function letterAt(index: number): string {
  const last = String.fromCharCode(65 + (index % 26));
  return index < 26 ? last : `${letterAt(Math.floor(index / 26) - 1)}${last}`;
}
