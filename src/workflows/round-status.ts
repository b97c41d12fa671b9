import { type Finding, verdictOf } from '../core/findings/finding.ts';
import type { RoomList } from '../core/model/room.ts';
import type { Round } from '../core/model/round.ts';
import type {
  RoundExportReport,
  RoundLadderReport,
  RoundMergeReport,
  RoundStatusReport,
} from '../core/report/round-reports.ts';
import { exportChanges, giveBack } from '../core/rounds/filled/export-changes.ts';
import { checkPocketReading } from '../core/rounds/pocket/read-pocket.ts';
import { checkMerged, checkWrittenOut } from '../core/rounds/records/check-records.ts';
import { checkRoomAnswer } from '../core/rounds/records/check-visit.ts';
import { failureLadder } from '../core/rounds/records/failure-ladder.ts';
import { findRoom, type PanelHint } from '../core/rounds/records/find-room.ts';
import { type RoundStatus, roundVerdict } from '../core/rounds/records/round-status.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import { type RoundDesk, readRound } from './round-desk.ts';

/** How far the round is. Ready: every room that the plan updates is done. */
export async function roundStatus(desk: RoundDesk): Promise<RoundStatusReport> {
  const { status, findings: known } = await readRound(desk);
  const findings = [...status.findings, ...known];
  const base = { command: 'round status', place: desk.folder.place, status, findings } as const;
  return { ...base, verdict: roundVerdict(status, verdictOf(findings)) };
}

interface RoundExportRequest {
  /** `-`: standard output. Undefined: not wanted. */
  readonly csv: string | undefined;
  readonly report: string | undefined;
}

interface RoundExportPorts extends RoundDesk {
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
  const findings = [...checkWrittenOut(written), ...known];
  return {
    command: 'round export',
    verdict: verdictOf(findings),
    findings,
    place: ports.folder.place,
    status,
    written,
  };
}

/** The failure ladder of one room, with its facts filled in. */
export async function ladderFor(words: string, hint: PanelHint, desk: RoundDesk): Promise<RoundLadderReport> {
  const { status, findings: known } = await readRound(desk);
  const base = { command: 'round ladder', place: desk.folder.place } as const;
  const answer = findRoom(words, status.round.rooms, hint);
  if (answer.state !== 'one') {
    const findings = [...checkRoomAnswer(words, answer), ...known];
    return { ...base, verdict: 'not-ready', findings, room: undefined, ladder: undefined };
  }
  const room = status.rooms.find((one) => one.room.key === answer.room.key);
  const ladder = room === undefined ? undefined : failureLadder(room, status);
  const findings = [...status.findings.filter(({ subject }) => subject === room?.room.key), ...known];
  return { ...base, verdict: verdictOf(findings), findings, room, ladder };
}

/**
 * Takes in the records of other folders or files, one after the other; what was taken in stays, also if a later one
 * fails.
 */
export async function mergeRounds(sources: readonly string[], folder: RoundFolder): Promise<RoundMergeReport> {
  const merged: RoundMergeReport['merged'][number][] = [];
  const findings: Finding[] = [];
  for (const from of sources) {
    const { added, known, damaged, pocket } = await folder.merge(from);
    merged.push({ from, added, known });
    findings.push(...checkMerged({ from, added, known, damaged }));
    if (pocket !== undefined) findings.push(...checkPocketReading(from, pocket));
  }
  return { command: 'round merge', verdict: verdictOf(findings), findings, place: folder.place, merged };
}
