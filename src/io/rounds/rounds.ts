import type { Round } from '../../core/model/round.ts';
import type { RoundRecord } from '../../core/model/round-record.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import type { KnownPocket } from '../../core/rounds/pocket/make-pocket.ts';
import type { PocketReading } from '../../core/rounds/pocket/read-pocket.ts';
import type { DamagedLine } from '../../core/rounds/records/check-records.ts';
import { heldAtDesk } from '../files/durable-files.ts';

/**
 * The folder of one round: the plan, a copy of the room list it was made from, and the records of what was done. The
 * folder can be copied, and may lie where several technicians reach it.
 */
export interface RoundFolder {
  readonly place: string;
  /** Undefined where no plan was made yet. Throws ToolError `round/unreadable`. */
  plan(): Promise<Round | undefined>;
  /** The copied list's bytes. */
  list(): Promise<Uint8Array>;
  /**
   * Replaces plan and list as a whole: a reader sees the old ones or the new ones. Records are not touched. Throws
   * `round/write-failed`.
   */
  savePlan(round: Round, list: Uint8Array): Promise<void>;
  /** Every whole line of every writer, in the order of `at`, each once; and what is not whole. */
  records(): Promise<RecordListing>;
  /**
   * Adds lines to a file that is this run's own, and flushes them: when it returns they are kept. What was there stays
   * as it is.
   */
  append(records: readonly RoundRecord[]): Promise<void>;
  /**
   * Takes in the lines of another folder or file, or what came back from a phone; says how many were new. Nothing is
   * lost, in whichever order they come.
   */
  merge(from: string): Promise<Merged>;
  /** The files for phones that this round made. */
  pockets(): Promise<readonly KnownPocket[]>;
  /** Remembers one, so that what comes back is known. Throws `round/write-failed`. */
  keepPocket(pocket: KnownPocket): Promise<void>;
}

export interface Merged {
  readonly added: number;
  readonly known: number;
  readonly damaged: readonly DamagedLine[];
  /** Where it came back from a phone. */
  readonly pocket: PocketReading | undefined;
}

export interface RecordListing {
  readonly records: readonly RoundRecord[];
  readonly damaged: readonly DamagedLine[];
}

export const noPlan = (place: string): ToolError =>
  new ToolError(
    'round/not-found',
    place,
    `There is no plan of a round at ${place}.`,
    'Plan one first: stickwright round plan with the room list; or name the folder of the round with --round.',
  );

export const noLoad = (place: string, load: string): ToolError =>
  new ToolError(
    'round/not-found',
    place,
    `The plan of the round at ${place} has no load ${load} any more.`,
    'Somebody planned the round anew. Its plan says which sticks are wanted now.',
  );

const again = 'Check the connection to the folder of the round and run the same command again; nothing was lost.';

/**
 * What the operating system said while a round's folder was read or written, as a ToolError; a ToolError stays what it
 * is.
 */
export function toRoundError(cause: unknown, doing: 'read' | 'write', path: string): unknown {
  const code = systemWordOf(cause);
  if (cause instanceof ToolError || code === undefined) return cause;
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') {
    const todo = 'Ask whoever owns the folder for the right to use it, or name another place with --round.';
    const verb = doing === 'read' ? 'read' : 'written';
    return new ToolError('file/not-permitted', path, `${path} may not be ${verb} (${code}).`, todo, cause);
  }
  if (doing === 'read') {
    return new ToolError('round/unreadable', path, `${path} cannot be read (${code}).`, again, cause);
  }
  if (code === 'EBUSY') {
    const message = `${path} cannot be written (EBUSY): ${heldAtDesk.because}.`;
    return new ToolError('round/write-failed', path, message, heldAtDesk.todo, cause);
  }
  const isFull = code === 'ENOSPC' || code === 'EDQUOT' || code === 'EFBIG';
  const message = isFull ? `There is no space left at ${path} (${code}).` : `${path} cannot be written (${code}).`;
  const todo = isFull ? 'Free some space there, then run the same command again.' : again;
  return new ToolError('round/write-failed', path, message, todo, cause);
}
