import { randomBytes } from 'node:crypto';
import { chmod, lstat, readdir, rm, writeFile } from 'node:fs/promises';
import { uptime } from 'node:os';
import { join } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { isRunning } from '../programs/own-process.ts';
import { runProgram } from '../programs/run-program.ts';

/** The same for every account, whatever TMPDIR says; macOS has it by this name too. */
const everyonesFolder = '/tmp';
const largestBytes = 65_536;

/**
 * A lock where the system has no names that end with their process (macOS, BSD): a file of each holder's own. Whoever
 * comes puts down a file and then looks for others; of two that come at the same moment both may be refused, never both
 * let in. A file whose process has ended counts for nothing, so that nobody has to remove what another account left.
 */
export async function lockByFile(name: string, holder: Holder, folder = everyonesFolder): Promise<Release> {
  const own = `${name}.${holder.pid}.${randomBytes(6).toString('hex')}`;
  const path = join(folder, own);
  // A new file, so that a link that somebody put there is never followed.
  await writeFile(path, JSON.stringify({ ...holder, uptime: uptime() }), { flag: 'wx', mode: 0o644 });
  const release = (): Promise<void> => rm(path, { force: true });
  try {
    await chmod(path, 0o644); // whatever the umask: others must be able to see whose it is
    for (const other of await readdir(folder)) {
      if (!other.startsWith(`${name}.`) || other === own) continue;
      const found = await liveHolder(join(folder, other));
      if (found !== undefined) throw inUse(holder.target, found);
    }
    return release;
  } catch (error) {
    await release();
    throw error;
  }
}

/** Undefined where nobody holds it. One whose process is gone is taken away, where this account may. */
async function liveHolder(path: string): Promise<Holder | undefined> {
  const fromName = Number(/\.(\d+)\.[0-9a-f]{12}$/.exec(path)?.[1]);
  const found = await lstat(path).catch(() => undefined);
  if (!Number.isSafeInteger(fromName) || found?.isFile() !== true) return undefined; // never one of ours
  const text = await readRegularFile(path, largestBytes).then(String, () => '');
  const holder = parseHolder(text) ?? { pid: fromName, target: path };
  if (isRunning(holder.pid) && !(await isLaterOne(holder))) return holder;
  await rm(path, { force: true }).catch(() => {});
  return undefined;
}

/** ps(1) counts whole seconds. */
const slackSeconds = 3;

/**
 * Whether the process has got its number since the lock was taken: it is younger than the lock, or the computer is.
 * Told by the time since the start, which no change of the clock touches; where nobody tells, it counts as the holder:
 * rather one refusal too many.
 */
async function isLaterOne({ pid, uptime: then }: Holder): Promise<boolean> {
  if (then === undefined) return false;
  const lockAge = uptime() - then;
  if (lockAge < -slackSeconds) return true;
  const told = await runProgram('ps', ['-o', 'etime=', '-p', String(pid)]).catch(() => '');
  const age = secondsOf(told.trim());
  return age !== undefined && age + slackSeconds < lockAge;
}

/** `[[dd-]hh:]mm:ss` (POSIX ps, etime). */
function secondsOf(etime: string): number | undefined {
  const [, days = '0', hours = '0', minutes, seconds] = /^(?:(?:(\d+)-)?(\d+):)?(\d+):(\d+)$/.exec(etime) ?? [];
  if (minutes === undefined) return undefined;
  return ((Number(days) * 24 + Number(hours)) * 60 + Number(minutes)) * 60 + Number(seconds);
}

/** Who holds a stick, as told to whoever wants it too. */
export interface Holder {
  readonly pid: number;
  /** As its command was told; empty where only the system names the process. */
  readonly target: string;
  /** Seconds since the computer's start, when it was taken; in files only. */
  readonly uptime?: number;
}

export type Release = () => Promise<void>;

/** Undefined where it is not one of ours. */
export function parseHolder(text: string): Holder | undefined {
  try {
    const holder: unknown = JSON.parse(text);
    const isHolder =
      typeof holder === 'object' &&
      holder !== null &&
      'pid' in holder &&
      Number.isSafeInteger(holder.pid) &&
      'target' in holder &&
      typeof holder.target === 'string' &&
      (!('uptime' in holder) || Number.isFinite(holder.uptime));
    return isHolder ? (holder as Holder) : undefined;
  } catch {
    return undefined;
  }
}

export const inUse = (target: string, holder: Holder | undefined): ToolError =>
  new ToolError(
    'stick/in-use',
    target,
    holder === undefined ? 'another run is using this stick' : `process ${holder.pid} is using this stick${as(holder)}`,
    'Wait until it has finished, or end it; a stick that it left unfinished is completed by running the same command again.',
  );

const as = ({ target }: Holder): string => (target === '' ? '' : ` (as ${target.replace(/\p{C}/gu, '')})`);
