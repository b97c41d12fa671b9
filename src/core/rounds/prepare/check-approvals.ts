import { type Finding, finding } from '../../findings/finding.ts';
import type { Load, Round } from '../../model/round.ts';
import type { RoundRecord } from '../../model/round-record.ts';
import { approvalsBy } from '../plan/approvals-by.ts';

export interface Approvals {
  readonly findings: readonly Finding[];
  /** Who approved the wipe of which room, for the manifest. */
  readonly words: string;
}

/** Whether every wipe of a load is still approved. An approval that was withdrawn since the plan was made counts no more. */
export function checkApprovals(load: Load, round: Round, records: readonly RoundRecord[]): Approvals {
  const now = approvalsBy(records);
  const withdrawn = withdrawnApprovals(records);
  const rooms = round.rooms.filter(({ key }) => load.rooms.includes(key));
  const approved = rooms.map(({ key, room, approval }) => {
    const planned = approval !== null && withdrawn.get(key)?.has(approval) !== true ? approval : undefined;
    return { room, by: now.get(key) ?? planned };
  });
  const open = approved.filter(({ by }) => by === undefined).map(({ room }) => room);
  const words = approved.map(({ room, by = 'nobody' }) => `${room} by ${by}`).join(', ');
  if (!load.wipes || open.length === 0) return { findings: [], words };
  return { findings: [finding('round/approval-gone', load.package.name, { rooms: open, load: load.id })], words };
}

function withdrawnApprovals(records: readonly RoundRecord[]): ReadonlyMap<string, ReadonlySet<string>> {
  const gone = new Set(records.flatMap((record) => (record.kind === 'withdrawn' ? [record.withdraws] : [])));
  const names = new Map<string, Set<string>>();
  for (const record of records) {
    if (record.kind !== 'approval' || !gone.has(record.id)) continue;
    names.set(record.room, new Set([...(names.get(record.room) ?? []), record.by]));
  }
  return names;
}
