import type { RoundRoom } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { withoutWithdrawn } from './stick-codes.ts';

/** Who approved the wipe of a room: the latest record says so, else the room list; null where nobody did. */
export function approvalOf(room: RoundRoom, records: readonly RoundRecord[]): string | null {
  const said = withoutWithdrawn(records).flatMap((record) =>
    record.kind === 'approval' && record.room === room.key ? [record] : [],
  );
  const latest = said.sort((a, b) => Date.parse(a.at) - Date.parse(b.at)).at(-1);
  return latest?.by ?? room.approval;
}
