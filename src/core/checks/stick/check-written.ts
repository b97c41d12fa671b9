import { type Finding, finding } from '../../findings/finding.ts';

/** A file that came back otherwise than the archive gave it. */
export interface DifferingContent {
  readonly path: string;
  /** SHA-256, as the archive gave it and as the stick gives it back. */
  readonly expected: string;
  readonly got: string;
}

/** Whether what was written, and what lay there already, is what the archive holds. */
export const checkReadBack = (differing: readonly DifferingContent[]): readonly Finding[] =>
  differing.map(({ path, expected, got }) => finding('plan/read-back-differs', path, { expected, got }));

/** Where nothing had to be written: what was read while planning must be what the archive turned out to hold. */
export const checkKept = (target: string, differing: readonly string[]): readonly Finding[] =>
  differing.length > 0 ? [finding('plan/kept-differs', target, { paths: differing })] : [];

/** What the stick took, and for how long somebody waited for it. */
export interface WrittenAmount {
  readonly bytes: number;
  readonly ms: number;
}

/** Less says nothing of the stick: one wait for anything else would count. */
const leastBytes = 2 ** 23;
const slowestBytesPerSecond = 1e6;

export function checkSpeed(target: string, { bytes, ms }: WrittenAmount): readonly Finding[] {
  const isSlow = bytes >= leastBytes && bytes * 1000 < ms * slowestBytesPerSecond;
  return isSlow ? [finding('stick/slow', target, { bytes, ms: Math.round(ms) })] : [];
}

/**
 * What reading back proves. AS IMAGE: the target is an image that is about to be copied, so of any stick it proves
 * nothing.
 */
export function checkReadBackKind(target: string, kind: 'medium' | 'cache', asImage: boolean): readonly Finding[] {
  if (asImage) return [finding('plan/image-to-copy', target)];
  return kind === 'cache' ? [finding('plan/read-back-from-cache', target)] : [];
}
