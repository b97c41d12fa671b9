import type { DriveEvent } from '../../core/drives/compare-drives.ts';
import type { JudgedDrive, ModeAnswer } from '../../core/model/drive.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { findingsOf, head } from './to-json.ts';

/** A list has no verdict of its own; each drive has its answer for each mode. */
export const drivesDocument = (drives: readonly JudgedDrive[]): ReportDocument => ({
  ...head('drives', null, 0),
  findings: [],
  drives: drives.map(driveOf),
});

/** The first line of a watch: what was plugged in at the start. */
export const watchedDrivesDocument = (drives: readonly JudgedDrive[], at: string): ReportDocument => ({
  ...drivesDocument(drives),
  at,
});

/** Any further line of a watch. AT is a moment as ISO 8601, UTC. */
export const driveEventDocument = (event: DriveEvent, at: string): ReportDocument => ({
  ...head('drives', null, 0),
  findings: [],
  at,
  event: {
    kind: event.kind,
    of: event.of,
    device: event.device,
    drive: event.drive,
    changed: event.changed,
    before: event.before === undefined ? null : driveOf(event.before),
    after: event.after === undefined ? null : driveOf(event.after),
  },
});

const driveOf = ({ volumes, modes, ...facts }: JudgedDrive) => ({
  ...untoldAsNull(facts),
  volumes: volumes.map(untoldAsNull),
  modes: modes.map(modeOf),
});

const modeOf = ({ reason, ...answer }: ModeAnswer) => ({
  ...untoldAsNull(answer),
  reason: reason === undefined ? null : (findingsOf([reason])[0] ?? null),
});

/** What the operating system does not tell stays in the document, as null. */
const untoldAsNull = (facts: object): Record<string, unknown> =>
  Object.fromEntries(Object.entries(facts).map(([name, value]) => [name, value ?? null]));
