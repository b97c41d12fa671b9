import { finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoomList } from '../core/model/room.ts';
import type { Round } from '../core/model/round.ts';
import type { RoundExportReport } from '../core/report/round-record-reports.ts';
import { exportChanges } from '../core/rounds/filled/export-changes.ts';
import { giveBack } from '../core/rounds/list/give-back.ts';
import type { RoundStatus } from '../core/rounds/records/round-status.ts';
import { type RoundDesk, readRound } from './round-desk.ts';

export interface RoundExportRequest {
  /** `-`: standard output. Undefined: not wanted. */
  readonly csv: string | undefined;
  readonly report: string | undefined;
}

export interface RoundExportPorts extends RoundDesk {
  /** The copy of the list that the round was planned from. */
  readonly keptList: (round: Round) => Promise<RoomList>;
  readonly writeCsv: (rows: readonly (readonly string[])[], form: RoomList['form']) => Uint8Array;
  readonly renderReport: (status: RoundStatus, at: string) => string;
  /** Writes a file whole, or to standard output; throws ToolError. */
  readonly write: (path: string, bytes: Uint8Array) => Promise<void>;
}

/** Gives the list back with what was done, and a report to print. */
export async function exportRound(request: RoundExportRequest, ports: RoundExportPorts): Promise<RoundExportReport> {
  const { status, findings: known } = await readRound(ports);
  const written: RoundExportReport['written'][number][] = [];
  if (request.csv !== undefined) {
    const list = await ports.keptList(status.round);
    const bytes = ports.writeCsv(giveBack(list, exportChanges(status, list)), list.form);
    await ports.write(request.csv, bytes);
    written.push({ kind: 'csv', path: request.csv, bytes: bytes.byteLength });
  }
  if (request.report !== undefined) {
    const bytes = new TextEncoder().encode(ports.renderReport(status, ports.now()));
    await ports.write(request.report, bytes);
    written.push({ kind: 'report', path: request.report, bytes: bytes.byteLength });
  }
  const findings = [
    ...written.filter(({ path }) => path !== '-').map(({ path, bytes }) => finding('record/exported', path, { bytes })),
    ...known,
  ];
  return {
    command: 'round export',
    verdict: verdictOf(findings),
    findings,
    place: ports.folder.place,
    status,
    written,
  };
}
