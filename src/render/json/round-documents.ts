import type { ReportDocument } from '../../core/report/report-schema.ts';
import type {
  RoundCardsReport,
  RoundExportReport,
  RoundLadderReport,
  RoundMergeReport,
  RoundPlanReport,
  RoundPocketReport,
  RoundPrepareReport,
  RoundRecordReport,
  RoundStatusReport,
} from '../../core/report/round-reports.ts';
import type { Preparation } from '../../core/rounds/prepare/list-preparations.ts';
import type { VisitReading } from '../../core/rounds/records/read-visit.ts';
import type { RoomStatus, RoundStatus } from '../../core/rounds/records/round-status.ts';
import { findingsOf, head, prepareDocument, toolErrorOf } from './to-json.ts';

export const roundPlanDocument = (report: RoundPlanReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  kept: report.kept,
  counts: { ...report.counts },
  minutesFrom: Object.fromEntries(report.minutesFrom),
  firstComeMinutes: report.firstComeMinutes ?? null,
  round: report.round ?? null,
});

export const roundPrepareDocument = (report: RoundPrepareReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  dryRun: report.dryRun,
  interrupted: report.interrupted,
  sticks: report.sticks.map((stick) => ({
    ...preparationOf(stick.preparation),
    target: stick.target,
    verdict: stick.verdict,
    code: stick.code ?? null,
    findings: findingsOf(stick.findings),
    report: stick.report === undefined ? null : prepareDocument(stick.report, exitCode),
    error: stick.error === undefined ? null : toolErrorOf(stick.error),
  })),
  left: report.left.map(preparationOf),
  ofOtherLoads: report.ofOtherLoads,
});

const preparationOf = ({ load, number, of }: Preparation) => ({
  load: load.id,
  number,
  of,
  package: load.package.name,
  sha256: load.package.sha256,
  mode: load.mode,
  wipes: load.wipes,
});

export const roundCardsDocument = (report: RoundCardsReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  paper: report.paper,
  files: report.files,
  dropped: report.dropped,
  cards: report.cards,
  pages: report.pages,
  tags: report.tags,
  without: report.without,
});

export const roundRecordDocument = (report: RoundRecordReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  recorded: report.recorded,
  rooms: report.rooms.map(roomOf),
  ladder: report.ladder === undefined ? null : ladderOf(report.ladder),
});

export const roundPocketDocument = (report: RoundPocketReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  pocket: report.pocket,
  who: report.who,
  rooms: report.rooms,
  file: report.file,
  bytes: report.bytes,
});

export const roundMergeDocument = (report: RoundMergeReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  merged: report.merged,
});

export const roundStatusDocument = (report: RoundStatusReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  ...statusOf(report.status),
});

export const roundLadderDocument = (report: RoundLadderReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  room: report.room === undefined ? null : roomOf(report.room),
  ladder: report.ladder === undefined ? null : ladderOf(report.ladder),
});

export const roundExportDocument = (report: RoundExportReport, exitCode: number): ReportDocument => ({
  ...head(report.command, report.verdict, exitCode),
  findings: findingsOf(report.findings),
  place: report.place,
  written: report.written,
});

function statusOf({ round, rooms, counts, sticks, repeats, records, strays }: RoundStatus) {
  return {
    plannedAt: round.plannedAt,
    counts,
    rooms: rooms.map(roomOf),
    sticks: sticks.map(({ load, prepared, returned, visits, ...stick }) => ({
      ...stick,
      load: load?.id ?? null,
      prepared: prepared ?? null,
      returned: returned ?? null,
      visits: visits.map(({ room, reading }) => ({ room, ...readingOf(reading) })),
    })),
    repeats,
    records,
    strays: strays.map(({ id }) => id),
  };
}

const roomOf = (status: RoomStatus) => ({
  room: status.room.key,
  label: status.room.label,
  serial: status.room.serial,
  asset: status.room.asset,
  running: status.room.running,
  target: status.room.target,
  planned: status.room.state,
  way: status.room.way ?? null,
  progress: status.progress,
  reached: status.reached,
  next: status.next === undefined ? null : { build: status.next.build, load: status.next.load.id },
  sticks: status.sticks,
  failures: status.failures,
  tries: status.tries.length,
  airFailures: status.airFailures.length,
  wiped: status.wiped,
  approval: status.approval,
  visits: status.visits.map(readingOf),
  disagreement: status.disagreement?.map(({ visit }) => visit.id) ?? null,
});

const readingOf = ({ visit, result, because }: VisitReading) => ({
  id: visit.id,
  at: visit.at,
  who: visit.who,
  outcome: visit.outcome,
  result,
  because,
  buildAfter: visit.buildAfter,
  stick: visit.stick,
  text: visit.text,
});

const ladderOf = ({ room, load, ...ladder }: NonNullable<RoundLadderReport['ladder']>) => ({
  room: room.key,
  load: load?.id ?? null,
  ...ladder,
  rungs: ladder.rungs.map((rung) => ({ ...rung, command: rung.command ?? null })),
  recovery: ladder.recovery ?? null,
});
