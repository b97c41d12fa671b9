import { setTimeout as wait } from 'node:timers/promises';
import { Option } from '@commander-js/extra-typings';
import type { DriveEvent } from '../../core/checks/stick/compare-drives.ts';
import type { JudgedDrive } from '../../core/checks/stick/judge-drive.ts';
import type { DrivesRequest } from '../../workflows/watch-drives.ts';
import { familiesFor } from '../desk.ts';
import { command, type Frame } from '../frame/command.ts';
import { exitCodes } from '../frame/exit-codes.ts';
import { aside, note, readerLeft } from '../frame/screen.ts';
import { collect, json, toolVersion } from '../words.ts';

/**
 * What is plugged in; while it is watched with the moment, and then what happened. A list has no verdict of its own.
 */
type DrivesAnswer = { readonly verdict: 'ready' } & (
  | { readonly drives: readonly JudgedDrive[]; readonly at: Date | undefined }
  | { readonly event: DriveEvent; readonly at: Date }
);

export const drives = command({
  words: (it) =>
    it
      .description('Lists removable USB drives with their volumes, and for each mode whether they would do.')
      .option('--all', 'also the others, with why they are refused')
      .option('--watch', 'go on and tell what is plugged in and pulled, until Ctrl-C; with --json one document a line')
      .option(
        '--diagnose <file>',
        'write what this system says of its drives to a new file, to send along when they are not listed as they should be; serial numbers are shortened',
      )
      .addOption(
        new Option('-f, --family <file-or-dir>', "judge by these families' rules; may be given several times")
          .argParser(collect)
          .default([] as readonly string[], 'what panels usually take'),
      )
      .addOption(json()),
  examples: [
    'stickwright drives',
    'stickwright drives --all',
    'stickwright drives --watch --family families/sedge.yaml',
  ],
  run: async ({ all, watch, family, diagnose }, frame): Promise<DrivesAnswer | number> => {
    if (diagnose !== undefined) return await writeDiagnosis(diagnose);
    const families = family.length === 0 ? [] : (await familiesFor(family)).families;
    const request = { families, all: all === true };
    if (watch) return await watchThem(request, frame);
    const { listDrives } = await import('../../io/drives/list-drives.ts');
    const { listJudgedDrives } = await import('../../workflows/watch-drives.ts');
    return { verdict: 'ready', drives: await listJudgedDrives(request, listDrives), at: undefined };
  },
  text: async (answer, look) =>
    'drives' in answer
      ? (await import('../../render/text/render-drives.ts')).renderDrives(answer.drives, look)
      : (await import('../../render/text/render-drives.ts')).renderDriveEvent(answer.event, clock(answer.at), look),
  json: async (answer) => {
    const { driveEventDocument, drivesDocument, watchedDrivesDocument } = await import(
      '../../render/json/stick-documents.ts'
    );
    if ('event' in answer) return driveEventDocument(answer.event, answer.at.toISOString());
    const { drives: there, at } = answer;
    return at === undefined ? drivesDocument(there) : watchedDrivesDocument(there, at.toISOString());
  },
});

async function writeDiagnosis(file: string): Promise<number> {
  const { diagnoseDrives, writeNew } = await import('../../io/drives/diagnose-drives.ts');
  await writeNew(file, await diagnoseDrives(toolVersion));
  aside(
    `Written: ${file}. Look through it before you send it: names of volumes, models and sizes are in it,\nserial numbers but for their ends and your name are not.\n`,
  );
  return exitCodes.ready;
}

/** About once a second: soon enough for a person who plugs in a stick, and little work for the computer. */
const pauseMs = 1000;

/** Lines are only ever added, so that it reads the same on a terminal, in a file and in a pipe. */
async function watchThem(request: DrivesRequest, frame: Frame): Promise<number> {
  const { listDrives } = await import('../../io/drives/list-drives.ts');
  const { watchDrives } = await import('../../workflows/watch-drives.ts');
  const { signal } = frame.atWork();
  const tell = async (answer: DrivesAnswer): Promise<void> => void (await frame.answer(answer));
  await watchDrives(
    request,
    { listDrives, pause: (until) => wait(pauseMs, undefined, { signal: until }).catch(() => {}) },
    {
      signal: AbortSignal.any([signal, readerLeft]),
      listed: async (there) => {
        await tell({ verdict: 'ready', drives: there, at: new Date() });
        if (!frame.json) aside('\nWatching what is plugged in and pulled. Ctrl-C ends it.\n');
      },
      happened: (event) => tell({ verdict: 'ready', event, at: new Date() }),
      failed: (error) => {
        const what = error instanceof Error ? error.message : String(error);
        note(`Could not look at the drives: ${what}. Trying on.`);
      },
    },
  );
  return signal.aborted ? exitCodes.interrupted : exitCodes.ready;
}

/** `09:14:05`, as the clock on the wall shows it. */
const clock = (at: Date): string =>
  [at.getHours(), at.getMinutes(), at.getSeconds()].map((part) => String(part).padStart(2, '0')).join(':');
