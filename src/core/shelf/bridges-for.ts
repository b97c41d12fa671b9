import { compareBuilds } from '../build/compare-builds.ts';
import { readBuild } from '../build/read-build.ts';
import { upperForComparing } from '../label/normalise-label.ts';
import { partOf } from '../label/read-with-grammar.ts';
import type { Build } from '../model/build.ts';
import type { Family } from '../model/family.ts';
import type { Parts } from '../model/panel-identity.ts';

/** The bridges that a panel with these parts may have to cross on its way to a build, depending on what it runs. */
export function bridgesFor(
  family: Family,
  parts: Parts,
  target: Build | undefined,
): readonly { readonly build: string; readonly because: string }[] {
  return (family.bridges ?? []).flatMap((bridge) => {
    const applies = Object.entries(bridge.for).every(
      ([part, value]) => upperForComparing(partOf(parts, part) ?? '') === upperForComparing(value),
    );
    const first = readBuild(bridge.first, family.build).build;
    const order = target === undefined || first === undefined ? 'cannot-order' : compareBuilds(target, first);
    const before = order === 'newer' || order === 'cannot-order';
    return applies && before ? [{ build: bridge.first, because: bridge.because }] : [];
  });
}
