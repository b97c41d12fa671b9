import { compareDrives, type DriveEvent } from '../core/checks/stick/compare-drives.ts';
import type { JudgedDrive } from '../core/checks/stick/judge-drive.ts';
import { judgeDrive } from '../core/checks/stick/judge-drive.ts';
import type { Family } from '../core/model/family.ts';
import type { ListDrives } from '../io/drives/drives.ts';

export interface DrivesRequest {
  /** Without any the customary rules judge. */
  readonly families: readonly Family[];
  /** Also the drives that are refused. */
  readonly all: boolean;
}

interface WatchPorts {
  readonly listDrives: ListDrives;
  /** The pause between two looks; ends early, and well, when the signal is aborted. */
  readonly pause: (signal: AbortSignal) => Promise<void>;
}

interface WatchListeners {
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
 * Tells what is plugged in and then what comes, goes and changes, until the signal is aborted. One look begins after
 * the last one has ended, so that a slow computer is asked less often and never twice at once. Rejects where the first
 * look fails.
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

export interface StickWish {
  readonly families: readonly Family[];
  /** What is plugged in already counts too. */
  readonly offerThere: boolean;
  /** Why this drive will not do; undefined where it will. */
  readonly refuse: (drive: JudgedDrive) => string | undefined;
  readonly signal: AbortSignal;
  readonly note: (line: string) => void;
}

/** A system that mounts sticks has done so after as many looks; then the drive is taken as it is. */
const looksToMount = 4;

/** Waits until a stick is plugged in that will do. Undefined where the signal came first. */
export async function awaitStick(wish: StickWish, ports: WatchPorts): Promise<JudgedDrive | undefined> {
  const over = new AbortController();
  /** Drives that came and are not mounted yet, with the looks that are left to them. */
  const waiting = new Map<string, { readonly drive: JudgedDrive; readonly looks: number }>();
  let stick: JudgedDrive | undefined;
  const offer = (drive: JudgedDrive): void => {
    waiting.delete(drive.device);
    const reason = wish.refuse(drive);
    if (reason !== undefined) wish.note(`${drive.device} is left out: ${reason}.`);
    else if (stick === undefined) {
      stick = drive;
      over.abort();
    }
  };
  const consider = (drive: JudgedDrive): void => {
    if (drive.volumes.some(({ mountPoints }) => mountPoints.length > 0)) offer(drive);
    else waiting.set(drive.device, { drive, looks: waiting.get(drive.device)?.looks ?? looksToMount });
  };
  const pause = async (signal: AbortSignal): Promise<void> => {
    await ports.pause(signal);
    for (const [device, { drive, looks }] of waiting) {
      if (looks > 1) waiting.set(device, { drive, looks: looks - 1 });
      else offer(drive);
    }
  };
  await watchDrives(
    { families: wish.families, all: false },
    { ...ports, pause },
    {
      signal: AbortSignal.any([wish.signal, over.signal]),
      listed: async (drives) => {
        if (wish.offerThere) for (const drive of drives) consider(drive);
      },
      happened: async ({ kind, drive, after }) => {
        if (kind === 'went') waiting.delete(drive);
        else if (after !== undefined && (kind === 'came' || waiting.has(drive))) consider(after);
      },
      failed: (error) => wish.note(`Could not look at the drives: ${String(error)}. Trying on.`),
    },
  );
  return wish.signal.aborted ? undefined : stick;
}
