import { finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { RoundLadderReport } from '../core/report/round-record-reports.ts';
import { failureLadder } from '../core/rounds/records/failure-ladder.ts';
import { findRoom, type PanelHint, roomInWords } from '../core/rounds/records/find-room.ts';
import { type RoundDesk, readRound } from './round-desk.ts';

/** The failure ladder of one room, with its facts filled in. */
export async function ladderFor(words: string, hint: PanelHint, desk: RoundDesk): Promise<RoundLadderReport> {
  const { status, findings: known } = await readRound(desk);
  const base = { command: 'round ladder', place: desk.folder.place } as const;
  const answer = findRoom(words, status.round.rooms, hint);
  if (answer.state !== 'one') {
    const found =
      answer.state === 'several'
        ? finding('record/room-ambiguous', words, { rooms: answer.rooms.map(roomInWords) })
        : finding('record/room-unknown', words, { near: answer.near.map(({ key }) => key) });
    return { ...base, verdict: 'not-ready', findings: [found, ...known], room: undefined, ladder: undefined };
  }
  const room = status.rooms.find((one) => one.room.key === answer.room.key);
  const ladder = room === undefined ? undefined : failureLadder(room, status);
  const findings = [...status.findings.filter(({ subject }) => subject === room?.room.key), ...known];
  return { ...base, verdict: verdictOf(findings), findings, room, ladder };
}
