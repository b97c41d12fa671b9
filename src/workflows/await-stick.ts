import type { JudgedDrive } from '../core/model/drive.ts';
import type { Family } from '../core/model/family.ts';
import { type WatchPorts, watchDrives } from './watch-drives.ts';

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
