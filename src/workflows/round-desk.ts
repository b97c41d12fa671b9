import type { Sha256 } from '../core/documents/own-digest.ts';
import type { Finding } from '../core/findings/finding.ts';
import type { Family } from '../core/model/family.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import { failureOf } from '../core/model/tool-error.ts';
import { checkDesk } from '../core/rounds/records/check-records.ts';
import { foldRound } from '../core/rounds/records/fold-round.ts';
import { type RelateBuilds, relateBuilds } from '../core/rounds/records/read-visit.ts';
import type { RoundStatus } from '../core/rounds/records/round-status.ts';
import { noPlan, type RoundFolder } from '../io/rounds/rounds.ts';

/** Everything that the commands on records need from outside. */
export interface RoundDesk {
  readonly folder: RoundFolder;
  /** The families that the plan was made with; or why they cannot be had here. */
  readonly families: (named: readonly string[]) => Promise<readonly Family[]>;
  readonly sha256: Sha256;
  /** RFC 3339. */
  readonly now: () => string;
  /** A UUID. */
  readonly newId: () => string;
}

export interface ReadRound {
  readonly status: RoundStatus;
  readonly records: readonly RoundRecord[];
  readonly relate: RelateBuilds;
  /** What is wrong with the records or the families, beside what the status says. */
  readonly findings: readonly Finding[];
}

/** The plan with all that was done. Throws ToolError `round/not-found` where there is no plan. */
export async function readRound({ folder, families }: RoundDesk): Promise<ReadRound> {
  const [round, { records, damaged }] = await Promise.all([folder.plan(), folder.records()]);
  if (round === undefined) throw noPlan(folder.place);
  let familiesProblem: string | undefined;
  const found = await families(round.families).catch((cause) => {
    familiesProblem = failureOf(cause).message;
    return [];
  });
  const findings = checkDesk({ place: folder.place, loads: round.loads, damaged, familiesProblem });
  const relate = relateBuilds(found);
  return { status: foldRound(round, records, relate), records, relate, findings };
}
