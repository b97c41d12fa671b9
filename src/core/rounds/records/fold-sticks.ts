import type { Round } from '../../model/round.ts';
import type { RecordOf, RoundRecord } from '../../model/round-record.ts';
import { doubtsOfStick } from '../cards/stick-codes.ts';
import type { RoomStatus, StickState, StickStatus } from './round-status.ts';

/** Every stick that a record names: what it carries, where it was, whether it came back. In the order of their first mention. */
export function foldSticks(
  round: Round,
  records: readonly RoundRecord[],
  rooms: readonly RoomStatus[],
): readonly StickStatus[] {
  const codes = new Set(
    records.flatMap((record) => ('stick' in record && record.stick !== null ? [record.stick] : [])),
  );
  const visited = rooms.flatMap(({ room, visits }) => visits.map((reading) => ({ room: room.key, reading })));
  return [...codes].map((code) => {
    const own = records.filter((record) => 'stick' in record && record.stick === code);
    const prepared = own.findLast((record): record is RecordOf<'prepared'> => record.kind === 'prepared');
    const returned = own.findLast((record): record is RecordOf<'returned'> => record.kind === 'returned');
    const visits = visited
      .filter(({ reading }) => reading.visit.stick === code)
      .toSorted((a, b) => Date.parse(a.reading.visit.at) - Date.parse(b.reading.visit.at));
    return {
      code,
      state: stateOf(own, prepared),
      prepared,
      unproven: prepared === undefined ? [] : doubtsOfStick(prepared),
      load: round.loads.find(
        (load) => load.package.sha256 === prepared?.package?.sha256 && load.mode === prepared.mode,
      ),
      visits,
      returned,
      failures: visits.filter(({ reading }) => reading.result === 'failed').length,
    };
  });
}

/** Its last line says where it is. */
function stateOf(own: readonly RoundRecord[], prepared: RoundRecord | undefined): StickState {
  const last = own.at(-1);
  if (last?.kind === 'returned') return last.cleared ? 'cleared' : 'returned';
  if (last?.kind === 'prepared') return 'ready';
  return prepared === undefined ? 'unknown' : 'was-out';
}

/** `clyftj` and `CLY FTJ` are the code CLY-FTJ; what has another shape stays as it is typed. */
export function normaliseStickCode(text: string): string {
  const letters = text
    .normalize('NFKC')
    .toUpperCase()
    .replace(/[\s\p{Pd}._]/gu, '');
  return /^[A-Z0-9]{6}$/.test(letters) ? `${letters.slice(0, 3)}-${letters.slice(3)}` : text.trim();
}
