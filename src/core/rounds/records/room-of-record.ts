import type { Round, RoundRoom } from '../../model/round.ts';
import type { RecordOf } from '../../model/round-record.ts';

type Located = RecordOf<'visit'> | RecordOf<'approval'>;

/**
 * Which room of the round a record speaks of: by its key; else, because a new plan may have named the room anew, by its
 * serial or its asset tag where exactly one room has it.
 */
export function roomFinder(round: Round): (record: Located) => RoundRoom | undefined {
  const byKey = new Map(round.rooms.map((room) => [room.key, room]));
  const bySerial = uniques(round.rooms, ({ serial }) => serial);
  const byAsset = uniques(round.rooms, ({ asset }) => asset);
  return (record) =>
    byKey.get(record.room) ?? bySerial.get(comparable(record.serial)) ?? byAsset.get(comparable(record.asset));
}

function uniques(
  rooms: readonly RoundRoom[],
  idOf: (room: RoundRoom) => string | null,
): ReadonlyMap<string, RoundRoom> {
  const found = new Map<string, RoundRoom | undefined>();
  for (const room of rooms) {
    const value = comparable(idOf(room));
    if (value !== '') found.set(value, found.has(value) ? undefined : room);
  }
  return new Map([...found].flatMap(([value, room]) => (room === undefined ? [] : [[value, room] as const])));
}

const comparable = (text: string | null): string => (text ?? '').normalize('NFKC').trim().toUpperCase();
