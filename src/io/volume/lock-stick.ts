import { createHash } from 'node:crypto';
import { closeSync, openSync, readFileSync, renameSync, rmSync, writeSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { errnoOf } from './os-error.ts';

interface Holder {
  readonly pid: number;
  /** When the process started, as the system counts it; tells a later process with the same number apart. */
  readonly started: string | undefined;
  readonly target: string;
}

/**
 * Keeps other runs of this program off the stick that IDENTITY names, until the returned function is called. A lock whose
 * process has ended is taken over. Throws `stick/in-use`, naming the other process.
 */
export function lockStick(identity: string, target: string): () => void {
  const name = createHash('sha256').update(identity).digest('hex').slice(0, 24);
  const path = join(tmpdir(), `stickwright-${name}.lock`);
  for (let attempt = 0; attempt < 8; attempt++) {
    if (tryTake(path, target)) return () => rmSync(path, { force: true });
    const holder = readHolder(path);
    if (holder !== undefined && isRunning(holder)) throw inUse(target, holder);
    setAsideStale(path);
  }
  throw inUse(target, readHolder(path));
}

function tryTake(path: string, target: string): boolean {
  let fd: number;
  try {
    fd = openSync(path, 'wx', 0o644); // follows no link and opens nothing that exists
  } catch (error) {
    if (errnoOf(error) === 'EEXIST') return false;
    throw error;
  }
  const holder: Holder = { pid: process.pid, started: startOf(process.pid), target };
  writeSync(fd, JSON.stringify(holder));
  closeSync(fd);
  return true;
}

/** Of several that find the same stale lock only one can rename it; the others just try again. */
function setAsideStale(path: string): void {
  const aside = `${path}.${process.pid}`;
  try {
    renameSync(path, aside);
    rmSync(aside, { force: true });
  } catch (error) {
    if (errnoOf(error) !== 'ENOENT') throw notOurs(path, error);
  }
}

/** Undefined where the lock is gone, half written or not one of ours. */
function readHolder(path: string): Holder | undefined {
  try {
    const holder: unknown = JSON.parse(readFileSync(path, 'utf8'));
    const isHolder = typeof holder === 'object' && holder !== null && 'pid' in holder && Number.isInteger(holder.pid);
    return isHolder ? (holder as Holder) : undefined;
  } catch {
    return undefined;
  }
}

function isRunning({ pid, started }: Holder): boolean {
  try {
    process.kill(pid, 0); // sends nothing
  } catch (error) {
    return errnoOf(error) === 'EPERM'; // somebody else's process
  }
  const now = startOf(pid);
  return started === undefined || now === undefined || now === started;
}

/** Field 22 of proc(5) `stat`, counted after the name in parentheses; undefined on other systems. */
function startOf(pid: number): string | undefined {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'utf8');
    return stat.slice(stat.lastIndexOf(')') + 2).split(' ')[19];
  } catch {
    return undefined;
  }
}

const inUse = (target: string, holder: Holder | undefined): ToolError =>
  new ToolError(
    'stick/in-use',
    target,
    holder === undefined
      ? 'another run is using this stick'
      : `process ${holder.pid} is using this stick (as ${holder.target})`,
    'Wait until it has finished, or end it; a stick that it left unfinished is completed by running the same command again.',
  );

const notOurs = (path: string, cause: unknown): ToolError =>
  new ToolError(
    'file/not-permitted',
    path,
    'a lock that an ended run of another account left behind cannot be removed',
    'Have that account, or an administrator, remove the file named here.',
    cause,
  );
