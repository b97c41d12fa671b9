import { readdirSync, readFileSync, readlinkSync } from 'node:fs';

/**
 * Which of PATHS a system call of process PID waits for just now, as Linux tells the parent of a process (proc(5):
 * `task/[tid]/syscall` has the number of the call and its arguments, of which the first of a read, a write and a sync
 * is the open file). Empty where nothing waits there, and where the system does not tell.
 */
export function waitsFor(pid: number | undefined, paths: readonly string[]): readonly string[] {
  if (process.platform !== 'linux' || pid === undefined) return [];
  const files = new Set(listed(`/proc/${pid}/task`).flatMap((task) => fileOfCall(pid, task) ?? []));
  return paths.filter((path) => [...files].some((file) => file === path || file.startsWith(`${path}/`)));
}

/** A first argument that is none of the open files is that of another kind of call. */
function fileOfCall(pid: number, task: string): string | undefined {
  try {
    const [, first = ''] = readFileSync(`/proc/${pid}/task/${task}/syscall`, 'utf8').split(' ');
    return readlinkSync(`/proc/${pid}/fd/${Number.parseInt(first, 16)}`);
  } catch {
    return undefined; // it runs, it has ended, or it is not ours to look at
  }
}

function listed(folder: string): readonly string[] {
  try {
    return readdirSync(folder);
  } catch {
    return [];
  }
}
