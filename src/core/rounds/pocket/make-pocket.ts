import { titleOf } from '../../findings/doubts.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import type { Round, RoundRoom } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { makeCards } from '../cards/make-cards.ts';
import { sticksOf } from '../plan/stick-codes.ts';
import { roomFinder } from '../records/order-records.ts';
import { familyOf } from '../records/read-visit.ts';

/**
 * What the file for one person's phone carries: their part of the plan, of the records and of the families, in the very
 * forms that the desk has, so that the phone asks the same functions.
 */
export interface Pocket {
  readonly schema: 'stickwright/pocket/1';
  readonly id: string;
  /** Hex. Of this file: its lines are told from foreign ones by it. It says which file, not which person. */
  readonly secret: string;
  readonly who: string;
  /** RFC 3339. */
  readonly madeAt: string;
  /** File name of the room list, without its folder and ending. */
  readonly name: string;
  readonly round: Round;
  readonly records: readonly RoundRecord[];
  readonly families: readonly Family[];
  /** How many rooms each load has in all, also those of others: a tag names them all, a card only its own. */
  readonly roomsOfLoad: Readonly<Record<string, number>>;
  /** Keys of the rooms, in walking order. */
  readonly order: readonly string[];
  /** What nobody could prove of the loads and sticks, by code, in a few words. */
  readonly doubts: Readonly<Record<string, string>>;
}

/** What the desk remembers of a pocket that it made: enough to know its lines again. */
export type KnownPocket = Pick<Pocket, 'id' | 'secret' | 'who' | 'madeAt'>;

/** Which rooms a person takes: those named, and those that some of the plan's sticks go to; else all. */
export interface PocketShare {
  readonly rooms: ReadonlySet<string>;
  /** From 1, as in the plan. */
  readonly sticks: readonly number[];
}

/**
 * Keys of the rooms of a share, in walking order: by the turns of their sticks; then those that no stick goes to, in
 * the order of the list.
 */
export function walkingOrder({ rooms, schedule }: Round, share: PocketShare): readonly string[] {
  const isAll = share.rooms.size === 0 && share.sticks.length === 0;
  const turns = schedule.turns.toSorted((a, b) => a.startMinute - b.startMinute || a.stick - b.stick);
  const walked = turns.flatMap(({ room, stick }) =>
    room !== null && (isAll || share.rooms.has(room) || share.sticks.includes(stick)) ? [room] : [],
  );
  const others = rooms.filter(({ key }) => isAll || share.rooms.has(key)).map(({ key }) => key);
  return [...new Set([...walked, ...others])];
}

/** The pocket of one person; KNOWN is what the desk remembers of it, ORDER the keys of its rooms. */
export function makePocket(
  round: Round,
  records: readonly RoundRecord[],
  families: readonly Family[],
  known: KnownPocket,
  order: readonly string[],
): Pocket {
  const own = new Set(order);
  const rooms = round.rooms.filter(({ key }) => own.has(key)).map(withoutNotes);
  const loads = round.loads
    .map((load) => ({ ...load, rooms: load.rooms.filter((key) => own.has(key)) }))
    .filter((load) => load.rooms.length > 0)
    .map((load) => ({ ...load, label: rooms.find(({ key }) => key === load.rooms[0])?.label ?? load.label }));
  const name = (round.list.path.split(/[/\\]/).at(-1) ?? '').replace(/\.[^.]+$/, '');
  const part: Round = {
    ...round,
    list: { path: name, copy: '', sha256: round.list.sha256, columns: {} },
    shelf: '',
    families: [],
    rooms,
    loads,
    schedule: {
      ...round.schedule,
      turns: round.schedule.turns.filter(({ room }) => room !== null && own.has(room)),
    },
  };
  const said = recordsOf(part, records);
  const named = new Set(rooms.map((room) => familyOf(part, room)));
  const doubts = makeCards(part, said).flatMap(({ unproven }) => unproven);
  return {
    schema: 'stickwright/pocket/1',
    ...known,
    name,
    round: part,
    records: said,
    families: families.filter(({ family }) => named.has(family)).map(asCarried),
    roomsOfLoad: Object.fromEntries(round.loads.map(({ id, rooms: all }) => [id, all.length])),
    order,
    doubts: Object.fromEntries(doubts.map((code) => [code, titleOf(code)])),
  };
}

/** What stands in the way of a room is carried; what was only worth saying at the desk stays there. */
const withoutNotes = (room: RoundRoom): RoundRoom => ({
  ...room,
  findings: room.findings.filter(({ severity }) => severity === 'stop' || severity === 'unproven'),
});

/** Labels and builds are read at the panel; packages and sticks are the desk's. */
const asCarried = (family: Family): Family => ({
  schema: 1,
  family: family.family,
  title: family.title,
  label: family.label,
  packages: [],
  build: family.build,
  'published-hash': family['published-hash'],
  modes: {},
  source: family.family,
  sha256: family.sha256,
});

/** Those of the person's rooms, and those that say where their sticks are. Where at the desk is nobody's business. */
function recordsOf(part: Round, records: readonly RoundRecord[]): readonly RoundRecord[] {
  const roomOf = roomFinder(part);
  const sticks = new Set(part.loads.flatMap((load) => sticksOf(load, records).map(({ stick }) => stick)));
  const own = records.filter((record) => {
    if ('room' in record) return roomOf(record) !== undefined;
    return 'stick' in record && sticks.has(record.stick);
  });
  const ids = new Set(own.map(({ id }) => id));
  const withdrawn = records.filter((record) => record.kind === 'withdrawn' && ids.has(record.withdraws));
  return [...own, ...withdrawn].map((record) => (record.kind === 'prepared' ? { ...record, target: '' } : record));
}

/** What a person should know before the file is carried away. */
export function checkPocket(
  { round, records, name, who, id, order }: Pocket,
  written: { readonly file: string; readonly bytes: number },
): readonly Finding[] {
  const cards = makeCards(round, records);
  const unapproved = [
    ...new Set(cards.filter(({ load, approval }) => load.wipes && approval === null).map(({ room }) => room.key)),
  ];
  const unprepared = [...new Set(cards.filter(({ sticks }) => sticks.length === 0).map(({ load }) => load.id))];
  const doubted = cards.filter(({ unproven }) => unproven.length > 0);
  const facts = {
    loads: [...new Set(doubted.map(({ load }) => load.id))],
    codes: [...new Set(doubted.flatMap(({ unproven }) => unproven))],
  };
  return [
    ...(doubted.length > 0 ? [finding('pocket/unproven', name, facts)] : []),
    ...(unapproved.length > 0 ? [finding('pocket/no-approval', name, { rooms: unapproved })] : []),
    ...(unprepared.length > 0 ? [finding('pocket/not-prepared', name, { loads: unprepared })] : []),
    finding('pocket/written', written.file, { who, rooms: order.length, bytes: written.bytes, pocket: id }),
  ];
}
