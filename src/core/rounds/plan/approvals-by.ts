import type { RoundRecord } from '../../model/round-record.ts';
import { withoutWithdrawn } from '../cards/stick-codes.ts';

/** Who approved the wipe of which room, by the records that still count; the latest word counts. */
export function approvalsBy(records: readonly RoundRecord[]): ReadonlyMap<string, string> {
  const approvals = withoutWithdrawn(records).filter((record) => record.kind === 'approval');
  const inTime = approvals.toSorted((a, b) => Date.parse(a.at) - Date.parse(b.at));
  return new Map(inTime.map(({ room, by }) => [room, by]));
}
