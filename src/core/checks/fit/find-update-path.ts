import { compareBuilds } from '../../build/compare-builds.ts';
import { readBuild } from '../../build/read-build.ts';
import { partOf } from '../../label/read-with-grammar.ts';
import type { Build, BuildOrder } from '../../model/build.ts';
import type { Bridge, Family } from '../../model/family.ts';
import type { Parts } from '../../model/panel-identity.ts';
import { upperForComparing } from '../../text/label-text.ts';

export interface PathStep {
  readonly build: string;
  /** The maker's reason; undefined for the target itself. */
  readonly because: string | undefined;
}

/** The builds to take one after the other, one stick a step; or why nobody can tell. */
export type UpdatePath =
  | { readonly steps: readonly PathStep[] }
  | { readonly steps: undefined; readonly bridge: string };

interface ReadBridge {
  readonly bridge: Bridge;
  readonly runningBefore: Build;
  readonly first: Build;
}

/**
 * The way from a running build up to a newer target over the family's bridge builds. A bridge is due where the running
 * build is older than its `running-before` and than its `first`, and the target is newer than `first`; of several
 * that are due the oldest comes first. Where a bridge cannot be ordered against the running or the target build, or
 * two due bridges against each other, the answer is that bridge.
 */
export function findUpdatePath(running: Build, target: Build, family: Family, parts: Parts): UpdatePath {
  const bridges = readBridges(family, parts);
  const steps: PathStep[] = [];
  let now = running;
  for (;;) {
    const due = nextBridge(now, target, bridges);
    if (due === undefined) return { steps: [...steps, { build: target.text, because: undefined }] };
    if ('unclear' in due) return { steps: undefined, bridge: due.unclear };
    steps.push({ build: due.bridge.first, because: due.bridge.because });
    now = due.first;
  }
}

function nextBridge(
  now: Build,
  target: Build,
  bridges: readonly ReadBridge[],
): ReadBridge | { unclear: string } | undefined {
  let next: ReadBridge | undefined;
  for (const one of bridges) {
    const beforeIt = compareBuilds(now, one.runningBefore);
    const belowIt = compareBuilds(now, one.first);
    const pastIt = compareBuilds(target, one.first);
    const settled = isNot(beforeIt, 'older') || isNot(belowIt, 'older') || isNot(pastIt, 'newer');
    if (settled) continue;
    if ([beforeIt, belowIt, pastIt].includes('cannot-order')) return { unclear: one.bridge.first };
    const order = next === undefined ? 'older' : compareBuilds(one.first, next.first);
    if (order === 'cannot-order') return { unclear: one.bridge.first };
    if (order === 'older') next = one;
  }
  return next;
}

/** Known not to be; what cannot be ordered is not known. */
const isNot = (order: BuildOrder, expected: BuildOrder): boolean => order !== expected && order !== 'cannot-order';

function readBridges(family: Family, parts: Parts): readonly ReadBridge[] {
  return (family.bridges ?? []).flatMap((bridge) => {
    const { build: runningBefore } = readBuild(bridge['running-before'], family.build);
    const { build: first } = readBuild(bridge.first, family.build);
    return isFor(bridge, parts) && runningBefore !== undefined && first !== undefined
      ? [{ bridge, runningBefore, first }]
      : [];
  });
}

/** Whether it is a bridge for panels with these parts. */
const isFor = (bridge: Bridge, parts: Parts): boolean =>
  Object.entries(bridge.for).every(
    ([part, value]) => upperForComparing(partOf(parts, part) ?? '') === upperForComparing(value),
  );

/** The bridges that a panel with these parts may have to cross on its way to a build, depending on what it runs. */
export function bridgesFor(
  family: Family,
  parts: Parts,
  target: Build | undefined,
): readonly { readonly build: string; readonly because: string }[] {
  return (family.bridges ?? []).flatMap((bridge) => {
    const first = readBuild(bridge.first, family.build).build;
    const order = target === undefined || first === undefined ? 'cannot-order' : compareBuilds(target, first);
    const before = order === 'newer' || order === 'cannot-order';
    return isFor(bridge, parts) && before ? [{ build: bridge.first, because: bridge.because }] : [];
  });
}
