import { judgeDrive } from '../core/checks/stick/judge-drive.ts';
import { compareDrives, type DriveEvent } from '../core/drives/compare-drives.ts';
import type { JudgedDrive } from '../core/model/drive.ts';
import type { Family } from '../core/model/family.ts';
import type { ListDrives } from '../io/drives/drives.ts';

export interface DrivesRequest {
  /** Without any the customary rules judge. */
  readonly families: readonly Family[];
  /** Also the drives that are refused. */
  readonly all: boolean;
}

export interface WatchPorts {
  readonly listDrives: ListDrives;
  /** The pause between two looks; ends early, and well, when the signal is aborted. */
  readonly pause: (signal: AbortSignal) => Promise<void>;
}

export interface WatchListeners {
  readonly signal: AbortSignal;
  /** What is plugged in at the start. */
  readonly listed: (drives: readonly JudgedDrive[]) => Promise<void>;
  readonly happened: (event: DriveEvent) => Promise<void>;
  /** A look failed; the next one is tried all the same. Not told again until a look went well. */
  readonly failed: (error: unknown) => void;
}

export async function listJudgedDrives(request: DrivesRequest, list: ListDrives): Promise<readonly JudgedDrive[]> {
  const drives = await list();
  return drives
    .filter(({ refusedBecause }) => request.all || refusedBecause === undefined)
    .map((drive) => ({ ...drive, modes: judgeDrive(drive, request.families) }));
}

/**
 * Tells what is plugged in and then what comes, goes and changes, until the signal is aborted. One look begins after the
 * last one has ended, so that a slow computer is asked less often and never twice at once. Rejects where the first look fails.
 */
export async function watchDrives(request: DrivesRequest, ports: WatchPorts, hear: WatchListeners): Promise<void> {
  const look = () => untilAborted(listJudgedDrives(request, ports.listDrives), hear.signal);
  let known = await look();
  if (known === undefined) return;
  await hear.listed(known);
  let isFailing = false;
  while (!hear.signal.aborted) {
    await ports.pause(hear.signal);
    if (hear.signal.aborted) return;
    try {
      const now = await look();
      if (now === undefined) return;
      isFailing = false;
      const events = compareDrives(known, now);
      known = now;
      for (const event of events) await hear.happened(event);
    } catch (error) {
      if (!isFailing) hear.failed(error);
      isFailing = true;
    }
  }
}

/** Undefined where the signal came first: a drive that hangs must not hold up the end. */
async function untilAborted<Answer>(work: Promise<Answer>, signal: AbortSignal): Promise<Answer | undefined> {
  let stop = (): void => {};
  const aborted = new Promise<undefined>((resolve) => {
    stop = () => resolve(undefined);
    signal.addEventListener('abort', stop);
    if (signal.aborted) stop();
  });
  work.catch(() => {}); // whoever lost the race is not listened to any more
  try {
    return await Promise.race([work, aborted]);
  } finally {
    signal.removeEventListener('abort', stop);
  }
}
