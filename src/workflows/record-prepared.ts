import { decisionsOf } from '../core/manifest/build-manifest.ts';
import type { PreparedStick } from '../core/report/round-prepare-report.ts';
import { sealRecord, type UnsealedRecord } from '../core/rounds/records/seal-record.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import type { Ports } from './ports.ts';

export interface RecordPorts extends Pick<Ports, 'now' | 'digesting'> {
  readonly folder: RoundFolder;
  /** A UUID. */
  readonly newId: () => string;
}

/** Records a stick that is as it should be, and gives its code; any other comes back as it is. */
export async function recordPrepared(stick: PreparedStick, who: string, ports: RecordPorts): Promise<PreparedStick> {
  const [answer] = stick.report?.sticks ?? [];
  const isDone = answer?.state === 'written' || answer?.state === 'unchanged';
  const code = answer?.manifest?.stick;
  const told = { ...stick, error: answer?.error };
  if (!isDone || code === undefined || answer?.verdict === 'not-ready') return told;
  const { load } = stick.preparation;
  const at = ports.now();
  const record: UnsealedRecord = {
    schema: 'stickwright/round-record/2',
    kind: 'prepared',
    id: ports.newId(),
    at,
    notedAt: at,
    who,
    stick: code,
    package: { name: load.package.name, sha256: load.package.sha256, build: load.package.build },
    mode: load.mode,
    load: load.id,
    target: stick.target,
    // As its manifest has it; what every verify asks by itself is asked before the walk.
    unproven: [...new Set(decisionsOf([...(stick.report?.findings ?? []), ...answer.findings]).unproven.map(codeOf))],
  };
  await ports.folder.append([sealRecord(record, ports.digesting.sha256)]);
  return { ...told, code };
}

const codeOf = ({ code }: { readonly code: string }): string => code;
