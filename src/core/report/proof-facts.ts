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
