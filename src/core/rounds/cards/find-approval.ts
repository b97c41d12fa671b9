import type { Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { roomFinder } from '../records/room-of-record.ts';
import { withoutWithdrawn } from './stick-codes.ts';

/** Says who approved the wipe of a room: the latest record, else the room list; null where nobody did. */
export function approvalFinder(round: Round, records: readonly RoundRecord[]): (room: RoundRoom) => string | null {
  const roomOf = roomFinder(round);
  const said = withoutWithdrawn(records)
    .flatMap((record) => (record.kind === 'approval' ? [record] : []))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
  const byRoom = new Map(said.map((record) => [roomOf(record)?.key, record.by]));
  return (room) => byRoom.get(room.key) ?? room.approval;
}
