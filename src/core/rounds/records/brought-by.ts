import { type Finding, finding } from '../../findings/finding.ts';
import type { Load } from '../../model/round.ts';
import type { RecordOf } from '../../model/round-record.ts';
import { normaliseStickCode } from './fold-sticks.ts';
import { nearMisses } from './near-misses.ts';
import type { RoomStatus, RoundStatus } from './round-status.ts';

export interface Brought {
  readonly load: Load | undefined;
  readonly carried: Pick<RecordOf<'visit'>, 'stick' | 'package' | 'mode'>;
  readonly findings: readonly Finding[];
}

/** Stick, package and mode of a visit: of the stick that was named; else of what is due, with its stick if there is only one. */
export function broughtBy(typed: string | undefined, room: RoomStatus, { sticks }: RoundStatus): Brought {
  const due = room.next?.load;
  const packageOf = ({ package: { name, sha256, build } }: Load) => ({ name, sha256, build });
  if (typed === undefined) {
    const [only, ...others] = room.sticks;
    const stick = others.length === 0 ? (only ?? null) : null;
    const carried = { stick, package: due === undefined ? null : packageOf(due), mode: due?.mode ?? null };
    return { load: due, carried, findings: due === undefined ? [] : checkUnnamed(room, due) };
  }
  const code = normaliseStickCode(typed);
  const found = sticks.find((one) => one.code === code);
  const prepared = found?.prepared;
  if (prepared === undefined) {
    const known = sticks.filter((one) => one.prepared !== undefined);
    const near = nearMisses(code, known, (one) => [one.code]).map((one) => one.code);
    return {
      load: undefined,
      carried: { stick: code, package: null, mode: null },
      findings: [finding('record/stick-unknown', code, { near })],
    };
  }
  const carried = { stick: code, package: prepared.package, mode: prepared.mode };
  const isDue = due === undefined || (prepared.package?.sha256 === due.package.sha256 && prepared.mode === due.mode);
  const findings = isDue
    ? []
    : [
        finding('record/stick-elsewhere', code, {
          load: found?.load?.id ?? prepared.load,
          build: prepared.package?.build ?? null,
          due: due.package.build,
          dueLoad: due.id,
          dueSticks: room.sticks,
        }),
      ];
  return { load: found?.load, carried, findings };
}

function checkUnnamed({ room, sticks }: RoomStatus, due: Load): readonly Finding[] {
  const [only, ...others] = sticks;
  if (only === undefined) return [];
  if (others.length === 0) return [finding('record/stick-assumed', only, { load: due.id })];
  return [finding('record/stick-not-named', room.key, { load: due.id, sticks })];
}
