import { canonicalForm } from '../../documents/own-digest.ts';
import type { Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord, RoundRecordOf, Visit } from '../../model/round-record.ts';
import { doubtsOfStick } from '../plan/stick-codes.ts';
import type { RoomStatus, StickState, StickStatus } from './round-status.ts';

/**
 * By when it was done, then by when it was noted; equal moments in the order of their ids, so that every desk sees one
 * order.
 */
export function compareRecords(a: RoundRecord, b: RoundRecord): number {
  return (
    Date.parse(a.at) - Date.parse(b.at) || Date.parse(a.notedAt) - Date.parse(b.notedAt) || compareTexts(a.id, b.id)
  );
}

const compareTexts = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

interface Union {
  /** In order, each id once. */
  readonly records: readonly RoundRecord[];
  /** Whole records under whose id another thing is said; not counted. */
  readonly rivals: readonly RoundRecord[];
}

/**
 * All records, each id once. One filled-in list that is given at two desks makes the same ids there, with other times
 * and names; anything else under one id cannot come from this tool. Of several the one with the smallest digest counts,
 * so that the answer is the same in whichever order they came.
 */
export function uniteRecords(all: Iterable<RoundRecord>): Union {
  const byId = new Map<string, RoundRecord>();
  const rivals: RoundRecord[] = [];
  for (const record of all) {
    const known = byId.get(record.id);
    if (known?.selfSha256 === record.selfSha256) continue;
    if (known === undefined || record.selfSha256 < known.selfSha256) byId.set(record.id, record);
    if (known !== undefined) rivals.push(record.selfSha256 < known.selfSha256 ? known : record);
  }
  const records = [...byId.values()].toSorted(compareRecords);
  const seen = new Set<string>();
  const distinct = rivals.filter((rival) => {
    const counts = byId.get(rival.id);
    const isNew = !seen.has(rival.selfSha256);
    seen.add(rival.selfSha256);
    return isNew && counts !== undefined && whatIsSaid(rival) !== whatIsSaid(counts);
  });
  return { records, rivals: distinct.toSorted((a, b) => compareTexts(a.selfSha256, b.selfSha256)) };
}

/** All but who noted it and when. */
const whatIsSaid = (record: RoundRecord): string => canonicalForm({ ...record, at: '', notedAt: '', who: '' });

type Located = Visit | RoundRecordOf<'approval'>;

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

/**
 * Every stick that a record names: what it carries, where it was, whether it came back. In the order of their first
 * mention.
 */
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
    const prepared = own.findLast((record): record is RoundRecordOf<'prepared'> => record.kind === 'prepared');
    const returned = own.findLast((record): record is RoundRecordOf<'returned'> => record.kind === 'returned');
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
