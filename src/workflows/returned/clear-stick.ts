import type { StickEntry } from '../../core/model/stick-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import type { ClearingItem, ClearingPlan } from '../../core/plan/plan-clearing.ts';
import type { Tell } from '../../core/report/events.ts';
import type { Volume } from '../../io/volume/volume.ts';

/**
 * Carries out a plan, each step on the medium before the next, and looks again when it is done. Returns what the operating
 * system did not let go of. Throws the signal's reason when it is stopped: the same plan, made anew, then does the rest.
 */
export async function clearStick(
  volume: Volume,
  plan: ClearingPlan,
  before: readonly StickEntry[],
  { tell, signal }: { tell: Tell; signal: AbortSignal },
): Promise<readonly string[]> {
  const held = new Set<string>();
  for (const step of plan.steps) {
    for (const item of step) {
      signal.throwIfAborted();
      if (await carryOut(volume, item)) tell({ kind: 'item', target: volume.facts.target, item: { ...item } });
      else held.add(item.path);
    }
    await volume.flush();
  }
  await checkCleared(volume, plan, before, held);
  return [...held];
}

/** False where a computer does not give its own files away. */
async function carryOut(volume: Volume, item: ClearingItem): Promise<boolean> {
  try {
    if (item.to !== undefined) await volume.rename(item.path, item.to);
    else if (item.kind === 'file') await volume.removeFile(item.path);
    else await volume.removeFolder(item.path);
    return true;
  } catch (error) {
    if (item.what !== 'desk-mark' || volume.facts.kind !== 'folder' || !isRefusal(error)) throw error;
    return false;
  }
}

const refusals: ReadonlySet<string> = new Set([
  'file/not-permitted',
  'stick/in-use',
  'stick/write-failed',
  'stick/not-as-listed',
]);
const isRefusal = (error: unknown): boolean => error instanceof ToolError && refusals.has(error.code);

/** All that should go is gone, and all that should stay is there as it was; a computer may have added things of its own. */
async function checkCleared(
  volume: Volume,
  plan: ClearingPlan,
  before: readonly StickEntry[],
  held: ReadonlySet<string>,
): Promise<void> {
  const removed = new Set(plan.steps.flat().map(({ path }) => path));
  const now = new Map((await volume.entries()).map((entry) => [entry.path, entry]));
  const wrong = before.find(({ path, kind, bytes }) => {
    const entry = now.get(path);
    if (removed.has(path) && !held.has(path)) return entry !== undefined;
    return entry?.kind !== kind || entry.bytes !== bytes;
  });
  if (wrong === undefined) return;
  throw new ToolError(
    'stick/write-failed',
    wrong.path,
    'After clearing, the stick does not show what it should.',
    'Pull it, plug it in again, and run the same command. If it happens again, retire the stick.',
  );
}
