import { verdictOf } from '../core/findings/finding.ts';
import type { StickEntry } from '../core/model/stick-facts.ts';
import { hasCode } from '../core/model/tool-error.ts';
import type { ClearingState, KeptLeft, ReturnedReport } from '../core/report/medium-reports.ts';
import type { Tell } from '../core/report/reports.ts';
import { checkCleared } from '../core/returned/check-clearing.ts';
import { conclude, stateOf } from '../core/returned/check-returned.ts';
import type { ClearingItem, ClearingPlan } from '../core/returned/plan-clearing.ts';
import { notAsCleared, type Volume } from '../io/volume/volume.ts';
import { lookAtReturned, type ReturnedRequest, type ReturnedStick } from './look-at-returned.ts';
import type { ReturnedPorts } from './ports.ts';
import { checkSameStick, openAgain } from './stick/check-same-stick.ts';

export interface ReturnedRunning {
  readonly tell: Tell;
  readonly signal: AbortSignal;
  /** Shows what came back and what would go; called once, before anything is written. */
  readonly propose: (report: ReturnedReport) => Promise<void>;
  /** Asks whether to clear; called after `propose` where nobody agreed in advance and it could be cleared. */
  readonly agree: (report: ReturnedReport) => Promise<boolean>;
}

/**
 * Says what a stick brings back; where asked, keeps what a panel left at the desk, and clears the stick for its next
 * job. Where it clears, the stick is locked from the first look on. Nothing is written before it was shown and agreed
 * to.
 */
export async function returnedStick(
  request: ReturnedRequest,
  ports: ReturnedPorts,
  running: ReturnedRunning,
): Promise<ReturnedReport> {
  const holder = request.clear ? await ports.openVolume(request.target, 'write') : undefined;
  const openVolume = holder === undefined ? ports.openVolume : openAgain(ports.openVolume, holder.facts);
  const found = await proposeAndAsk(request, { ...ports, openVolume }, running).finally(() => holder?.close());
  const { seen, report, isAgreed } = found;
  if (!isAgreed && request.clear) return report;
  const kept = await keepWhatWasLeft(request, seen, ports, running);
  if (!isAgreed) return { ...report, kept };
  return { ...(await clear(seen, report, ports, running)), kept };
}

interface Proposed {
  readonly seen: ReturnedStick;
  readonly report: ReturnedReport;
  readonly isAgreed: boolean;
}

async function proposeAndAsk(
  request: ReturnedRequest,
  ports: ReturnedPorts,
  running: ReturnedRunning,
): Promise<Proposed> {
  const seen = await lookAtReturned(request, ports, running);
  const isStopped = seen.plan === undefined || verdictOf(seen.objections) === 'not-ready';
  const report = reportOf(seen, !request.clear ? 'not-asked' : isStopped ? 'refused' : 'declined');
  await running.propose(report);
  const isAgreed = request.clear && !isStopped && (request.agreed || (await running.agree(report)));
  return { seen, report, isAgreed };
}

const reportOf = (seen: ReturnedStick, state: ClearingState): ReturnedReport => ({
  command: 'verify',
  verdict: verdictOf(seen.findings),
  findings: seen.findings,
  conclusion: conclude(seen.findings),
  state: stateOf(seen.findings),
  stick: seen.facts,
  manifest: seen.manifest,
  filesRead: seen.filesRead,
  bytesRead: seen.bytesRead,
  sorted: seen.sorted,
  clearing: { state, plan: seen.plan, findings: state === 'not-asked' ? [] : seen.objections },
  kept: undefined,
});

async function keepWhatWasLeft(
  { target, keepLeft }: ReturnedRequest,
  { plan, manifest, facts }: ReturnedStick,
  ports: ReturnedPorts,
  { signal }: ReturnedRunning,
): Promise<KeptLeft | undefined> {
  if (keepLeft === undefined || plan === undefined || plan.kept.length === 0) return undefined;
  const volume = await openAgain(ports.openVolume, facts)(target, 'read');
  try {
    const read = (path: string) => async (): Promise<AsyncIterable<Uint8Array>> =>
      (await volume.open(path, 'fresh')).chunks();
    const files = plan.kept.map(({ path, bytes }) => ({ path, bytes, read: read(path) }));
    const name = `${manifest?.stick ?? 'stick'}-${ports.now().replace(/[-:]|\.\d+/g, '')}`;
    return await ports.keepLeft(keepLeft, name, files, signal);
  } finally {
    await volume.close();
  }
}

async function clear(
  seen: ReturnedStick,
  report: ReturnedReport,
  ports: ReturnedPorts,
  running: ReturnedRunning,
): Promise<ReturnedReport> {
  const { target } = seen.facts;
  const { plan } = seen;
  if (plan === undefined) return report;
  const before = { facts: seen.facts, entries: seen.entries };
  if (plan.settlesDirtyMark) {
    await checkSameStick(target, before, ports.openVolume);
    await ports.settleDirtyMark(target);
  }
  const volume = await openAgain(ports.openVolume, seen.facts)(target, 'write');
  try {
    await checkSameStick(target, before, ports.openVolume);
    const held = await clearStick(volume, plan, seen.entries, running);
    return {
      ...report,
      clearing: { state: 'cleared', plan, findings: [...seen.objections, ...checkCleared(target, held)] },
    };
  } catch (error) {
    if (!running.signal.aborted || error !== running.signal.reason) throw error;
    return { ...report, clearing: { ...report.clearing, state: 'unfinished' } };
  } finally {
    await volume.close();
  }
}

/**
 * Carries out a plan, each step on the medium before the next, and looks again when it is done. Returns what the
 * operating system did not let go of. Throws the signal's reason when it is stopped: the same plan, made anew, then
 * does the rest.
 */
async function clearStick(
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
  await expectCleared(volume, plan, before, held);
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

/** What the system will not let go of while it is mounted. */
const isRefusal = (error: unknown): boolean =>
  hasCode(error, 'file/not-permitted', 'stick/in-use', 'stick/write-failed', 'stick/not-as-listed');

/**
 * All that should go is gone, and all that should stay is there as it was; a computer may have added things of its own.
 */
async function expectCleared(
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
  throw notAsCleared(wrong.path);
}
