import { createHash } from 'node:crypto';
import { linkSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
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
export function lockStick(identity: string, target: string, folder = tmpdir()): () => void {
  const name = createHash('sha256').update(identity).digest('hex').slice(0, 24);
  const path = join(folder, `stickwright-${name}.lock`);
  for (let attempt = 0; attempt < 8; attempt++) {
    if (tryTake(path, target)) return hold(path);
    const text = readText(path);
    const holder = parseHolder(text);
    if (holder !== undefined && isRunning(holder)) throw inUse(target, holder);
    if (text !== undefined) setAsideStale(path, text);
  }
  throw inUse(target, parseHolder(readText(path)));
}

/** Locks of this process; a run that ends without closing its sticks leaves none behind, unless it is killed. */
const held = new Set<string>();

function hold(path: string): () => void {
  if (held.size === 0) process.on('exit', releaseAll);
  held.add(path);
  let mine = true;
  return () => {
    if (!mine) return;
    mine = false;
    held.delete(path);
    rmSync(path, { force: true });
    if (held.size === 0) process.off('exit', releaseAll);
  };
}

function releaseAll(): void {
  for (const path of held) rmSync(path, { force: true });
}

/** The lock appears under its name with its content in it: a second name is given to a file that is already written. */
function tryTake(path: string, target: string): boolean {
  const draft = `${path}.${process.pid}.new`;
  const holder: Holder = { pid: process.pid, started: startOf(process.pid), target };
  rmSync(draft, { force: true });
  writeFileSync(draft, JSON.stringify(holder), { flag: 'wx', mode: 0o644 });
  try {
    linkSync(draft, path);
    return true;
  } catch (error) {
    if (errnoOf(error) === 'EEXIST') return false;
    throw error;
  } finally {
    rmSync(draft, { force: true });
  }
}

/** Removes the lock that STALE was read from; one that another run put there in the meantime is given its name back. */
function setAsideStale(path: string, stale: string | undefined): void {
  const aside = `${path}.${process.pid}.old`;
  try {
    renameSync(path, aside);
    if (readText(aside) !== stale) linkSync(aside, path);
    rmSync(aside, { force: true });
  } catch (error) {
    if (!['ENOENT', 'EEXIST'].includes(errnoOf(error) ?? '')) throw notOurs(path, error);
  }
}

function readText(path: string): string | undefined {
  try {
    return readFileSync(path, 'utf8');
  } catch {
    return undefined;
  }
}

/** Undefined where it is not one of ours. */
function parseHolder(text: string | undefined): Holder | undefined {
  try {
    const holder: unknown = JSON.parse(text ?? '');
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
