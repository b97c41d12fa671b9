import { constants } from 'node:fs';
import { access } from 'node:fs/promises';
import { setTimeout as wait } from 'node:timers/promises';
import type { Drive } from '../../core/model/drive.ts';
import { chosenOf } from '../../core/report/name-targets.ts';
import type { TargetSeen } from '../../core/report/window-talk.ts';
import { listDrives } from '../../io/drives/list-drives.ts';
import type { ParentProcess } from '../../io/programs/own-process.ts';
import type { DriveLookedAt, FromProcess, ToProcess } from '../process-talk.ts';

/** Drives are looked at about once a second. */
const pauseMs = 1000;

/** What hangs is not waited for: what was seen of it last holds meanwhile, and then it counts as one that hangs. */
const sightMs = 300;
const hangsMs = 5000;

/** Looks at what is plugged in until the server has no more use for it, and says what there is after each look. */
export function lookOut(parent: ParentProcess<ToProcess, FromProcess>): void {
  parent.gone.addEventListener('abort', parent.end);
  parent.asked.addEventListener('abort', parent.end);
  parent.hear((message) => {
    if (message.say === 'desk') void look(parent, message.words.sticks);
  });
}

async function look(parent: ParentProcess<ToProcess, FromProcess>, sticks: readonly string[]): Promise<void> {
  for (;;) {
    const message = await Promise.all([listDrives(), Promise.all(sticks.map(chosenSeen))])
      .then(async ([drives, chosen]): Promise<FromProcess> => {
        const looked = await Promise.all(drives.filter(isStick).map(lookedAt));
        return { say: 'seen', drives: looked, chosen };
      })
      .catch(
        (error: unknown): FromProcess => ({
          say: 'unseen',
          why: error instanceof Error ? error.message : String(error),
        }),
      );
    await parent.send(message);
    await wait(pauseMs);
  }
}

/** What somebody could take for a stick; the computer's own disks are none of the page's business. */
const isStick = (drive: Drive): boolean =>
  drive.refusedBecause === undefined || drive.usb === true || 'target' in chosenOf(drive);

async function lookedAt(drive: Drive): Promise<DriveLookedAt> {
  const choice = chosenOf(drive);
  if ('reason' in choice) return { drive, choice, rights: undefined };
  const state = await stateOf(choice.target, constants.R_OK | constants.W_OK);
  if (state === 'hangs')
    return { drive: { ...drive, refusedBecause: hangs }, choice: { reason: hangs }, rights: undefined };
  const isBarred = process.platform === 'linux' && state !== 'there';
  return { drive, choice, rights: isBarred ? rightsOf(drive, choice.target) : undefined };
}

/**
 * What this account may not do with a stick, and the one command that changes only that. A drive that no system has
 * opened as a folder is written sector by sector, and most accounts may not do that.
 */
function rightsOf({ device, volumes }: Drive, target: string): NonNullable<TargetSeen['rights']> {
  const [volume] = volumes;
  if (target !== device)
    return {
      cannot: `This account may not write into ${target}: somebody else, or a stick that is read-only, opened it.`,
      command: `udisksctl unmount -b ${volume?.device ?? device} && udisksctl mount -b ${volume?.device ?? device}`,
    };
  const cannot = `This account may not write to ${device} itself; `;
  return volume === undefined
    ? { cannot: `${cannot}this lends it the right until the stick is pulled:`, command: `sudo chown $USER ${device}` }
    : {
        cannot: `${cannot}opened as a folder, the stick needs no such right:`,
        command: `udisksctl mount -b ${volume.device}`,
      };
}

const hangs = 'it gives no answer; pull it out, and plug it in again';

async function chosenSeen(target: string): Promise<TargetSeen> {
  const state = await stateOf(target, constants.F_OK);
  return {
    target,
    kind: 'chosen',
    name: target.split(/[\\/]/).at(-1) ?? target,
    device: undefined,
    bytes: undefined,
    serial: undefined,
    holds: [],
    doubt: undefined,
    refused: { there: undefined, not: 'it is not there any more', hangs }[state],
    rights: undefined,
    would: [],
  };
}

type State = 'there' | 'not' | 'hangs';

interface Asked {
  readonly sinceMs: number;
  readonly answer: Promise<State>;
}

const asked = new Map<string, Asked>();
const last = new Map<string, State>();

/** Whether PATH can be opened as MODE says, by what the system answers, or has answered last. */
async function stateOf(path: string, mode: number): Promise<State> {
  const mine = asked.get(path) ?? { sinceMs: performance.now(), answer: ask(path, mode) };
  asked.set(path, mine);
  const state = await Promise.race([mine.answer, wait(sightMs)]);
  if (state !== undefined) return state;
  return performance.now() - mine.sinceMs < hangsMs ? (last.get(path) ?? 'there') : 'hangs';
}

async function ask(path: string, mode: number): Promise<State> {
  const state = await access(path, mode).then(
    () => 'there' as const,
    () => 'not' as const,
  );
  asked.delete(path);
  last.set(path, state);
  return state;
}
