import { type Finding, finding } from '../../findings/finding.ts';

/** What a proof means. One that found nothing and read everything back from the medium gives no finding at all. */
export function checkProof(target: string, facts: ProofFacts): readonly Finding[] {
  const { statedBytes, wraps, endsAt, bad, unstable } = facts;
  const found: Finding[] = [];
  if (wraps !== undefined)
    found.push(finding('medium/capacity-false', target, { statedBytes, trueBytes: wraps.trueBytes, how: 'wraps' }));
  if (endsAt !== undefined)
    found.push(finding('medium/capacity-false', target, { statedBytes, trueBytes: endsAt, how: 'drops' }));
  if (bad !== undefined && endsAt === undefined) found.push(finding('medium/areas-bad', target, bad));
  if (unstable !== undefined) found.push(finding('medium/areas-unstable', target, unstable));
  return [...found, ...checkReach(target, facts, found.length > 0)];
}

function checkReach(target: string, facts: ProofFacts, isFaulty: boolean): readonly Finding[] {
  const { finished, writtenBytes, testedBytes, statedBytes, readBack, sample, how } = facts;
  const found: Finding[] = [];
  if (!finished)
    found.push(finding('medium/proof-unfinished', target, { writtenBytes, testedBytes, ofBytes: statedBytes }));
  if (isFaulty) return found; // a fault is certain, however much else is not
  if (sample !== undefined && finished) found.push(finding('medium/proved-by-sample', target, sample));
  if (how === 'free-space' && finished)
    found.push(finding('medium/proved-in-part', target, { bytes: testedBytes, ofBytes: statedBytes }));
  if (readBack === 'cache' && testedBytes > 0) found.push(finding('medium/proved-through-cache', target));
  return found;
}

/** What writing a pattern and reading it back has shown. Bytes of the medium, or of the free part. */
export interface ProofFacts {
  readonly how: 'whole' | 'free-space' | 'sample';
  readonly statedBytes: number;
  readonly writtenBytes: number;
  /** What was read back of it so far, good or bad. */
  readonly testedBytes: number;
  readonly finished: boolean;
  readonly readBack: 'medium' | 'cache';
  /** What was written landed on top of something else. */
  readonly wraps: { readonly trueBytes: number } | undefined;
  /** All from here on is lost. */
  readonly endsAt: number | undefined;
  readonly bad: { readonly areas: number; readonly bytes: number; readonly firstByte: number } | undefined;
  /** A second reading gave other bytes. */
  readonly unstable: { readonly areas: number; readonly firstByte: number } | undefined;
  /** Present for a sample: places looked at, and what a stick with a tenth of its places bad has of passing. */
  readonly sample:
    | { readonly areas: number; readonly areaBytes: number; readonly missShare: number; readonly cutBytes: number }
    | undefined;
  readonly writeBytesPerSecond: number | undefined;
  readonly readBytesPerSecond: number | undefined;
}
