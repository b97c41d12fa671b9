import { describe } from 'vitest';
import { describeFiles } from './conformance/files.ts';
import { describeFlush } from './conformance/flush.ts';
import { describeLimits } from './conformance/limits.ts';
import { describeNames } from './conformance/names.ts';
import { benchFor, type Stand, type Traits } from './conformance/stand.ts';
import { describeTree } from './conformance/tree.ts';

/** Every promise of the port, held against one kind of volume. */
export function describeConformance(name: string, traits: Traits, make: () => Promise<Stand>): void {
  describe(name, () => {
    const bench = benchFor(make);
    describeFiles(bench);
    describeTree(bench, traits);
    describeFlush(bench, traits);
    describeNames(bench, traits);
    describeLimits(bench, traits);
  });
}
