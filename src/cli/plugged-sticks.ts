import { setTimeout as wait } from 'node:timers/promises';
import type { JudgedDrive } from '../core/checks/stick/judge-drive.ts';
import type { Family } from '../core/model/family.ts';
import { listDrives } from '../io/drives/list-drives.ts';
import { tame } from '../render/text/page.ts';
import { nameInWords } from '../render/text/render-drives.ts';
import { awaitStick } from '../workflows/watch-drives.ts';
import { targetOf } from './choose-targets.ts';

const pauseMs = 1000;
const note = (line: string): void => void process.stderr.write(`${tame(line)}\n`);

const identityOf = ({ device, serial }: JudgedDrive): string => `${device} ${serial ?? ''}`;

/**
 * Sticks as a person plugs them in, each at most once until it is put back. What is plugged in at the start is only offered where
 * somebody is asked before it is written.
 */
export function pluggedSticks(families: readonly Family[], signal: AbortSignal, asks: boolean) {
  const had = new Set<string>();
  return {
    async next(): Promise<string | undefined> {
      note(`Plug in ${had.size === 0 ? 'a stick' : 'the next stick'}. Ctrl-C ends it; what is recorded stays.`);
      const drive = await awaitStick(
        {
          families,
          offerThere: asks,
          refuse: (one) => {
            if (had.has(identityOf(one))) return 'it was dealt with already';
            const choice = targetOf(one);
            return 'reason' in choice ? choice.reason : undefined;
          },
          signal,
          note,
        },
        { listDrives, pause: (until) => wait(pauseMs, undefined, { signal: until }).catch(() => {}) },
      );
      if (drive === undefined) return undefined;
      had.add(identityOf(drive));
      const choice = targetOf(drive);
      if ('reason' in choice) return undefined;
      note(`${choice.target}: ${nameInWords(drive)}, serial ${drive.serial || 'unknown'}.`);
      return choice.target;
    },
  };
}
