import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';

/** So much may wait. */
const mostWaitingBytes = 4 * 2 ** 20;

type Collect = (how: { readonly type: 'minor' }) => void;

let collect: Collect | undefined;
let passedBytes = 0;

/**
 * Call for each chunk that zlib made and that was heard. Its memory lies outside V8's heap, behind a small object, so V8 sees
 * little reason to collect, and 30 MB and more would wait; asked every few chunks, it needs a tenth of a millisecond, and the
 * next chunks find memory that is still in the processor's cache.
 */
export function chunkPassed(bytes: number): void {
  passedBytes += bytes;
  if (passedBytes < mostWaitingBytes) return;
  passedBytes = 0;
  collect ??= findCollect();
  collect({ type: 'minor' });
}

/** V8 shows its collector only to a context that is made after this flag was set. */
function findCollect(): Collect {
  setFlagsFromString('--expose-gc');
  return runInNewContext('gc') as Collect;
}
