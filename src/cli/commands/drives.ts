import { setTimeout as wait } from 'node:timers/promises';
import type { DriveEvent } from '../../core/checks/stick/compare-drives.ts';
import { listDrives } from '../../io/drives/list-drives.ts';
import { serialise } from '../../render/json/serialise.ts';
import { driveEventDocument, drivesDocument, watchedDrivesDocument } from '../../render/json/stick-documents.ts';
import { tame } from '../../render/text/page.ts';
import { renderDriveEvent, renderDrives } from '../../render/text/render-drives.ts';
import { type DrivesRequest, listJudgedDrives, watchDrives } from '../../workflows/watch-drives.ts';
import { exitCodes } from '../exit-codes.ts';
import { watchInterruption } from '../interruption.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { lookOf, say } from '../screen.ts';

export interface DrivesOptions {
  readonly all?: true | undefined;
  readonly watch?: true | undefined;
  readonly family: readonly string[];
  readonly json?: true | undefined;
}

/** About once a second: soon enough for a person who plugs in a stick, and little work for the computer. */
const pauseMs = 1000;

export async function runDrives({ all, watch, family, json }: DrivesOptions): Promise<number> {
  const families = family.length === 0 ? [] : (await loadFamiliesFor(family)).families;
  const request: DrivesRequest = { families, all: all === true };
  if (watch) return watchThem(request, json === true);
  const drives = await listJudgedDrives(request, listDrives);
  await say(json ? serialise(drivesDocument(drives)) : renderDrives(drives, lookOf(process.stdout, process.env)));
  return exitCodes.ready;
}

/** Lines are only ever added, so that it reads the same on a terminal, in a file and in a pipe. */
async function watchThem(request: DrivesRequest, json: boolean): Promise<number> {
  const look = lookOf(process.stdout, process.env);
  const interruption = watchInterruption(process.stderr);
  const readerLeft = new AbortController();
  process.stdout.on('error', () => readerLeft.abort());
  const tell = (event: DriveEvent): Promise<void> => {
    const at = new Date();
    return say(
      json ? serialise(driveEventDocument(event, at.toISOString())) : renderDriveEvent(event, clock(at), look),
    );
  };
  try {
    await watchDrives(
      request,
      { listDrives, pause: (signal) => wait(pauseMs, undefined, { signal }).catch(() => {}) },
      {
        signal: AbortSignal.any([interruption.signal, readerLeft.signal]),
        listed: async (drives) => {
          const now = new Date().toISOString();
          await say(json ? serialise(watchedDrivesDocument(drives, now)) : renderDrives(drives, look));
          if (!json) process.stderr.write('\nWatching what is plugged in and pulled. Ctrl-C ends it.\n');
        },
        happened: tell,
        failed: (error) => {
          const what = error instanceof Error ? error.message : String(error);
          process.stderr.write(`Could not look at the drives: ${tame(what)}. Trying on.\n`);
        },
      },
    );
    return interruption.signal.aborted ? exitCodes.interrupted : exitCodes.ready;
  } finally {
    interruption.end();
  }
}

/** `09:14:05`, as the clock on the wall shows it. */
const clock = (at: Date): string =>
  [at.getHours(), at.getMinutes(), at.getSeconds()].map((part) => String(part).padStart(2, '0')).join(':');
