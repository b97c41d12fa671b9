import { setFlagsFromString } from 'node:v8';

/**
 * For what reads a whole archive: V8 is to sweep early rather than grow, because the chunks that pass through live outside its heap,
 * behind small objects. With these two, prepare peaks at about 110 MB instead of 170, four sticks at 130 instead of 195, for a tenth
 * more time. Measured on Node 20. Not for all commands: the first makes V8 compile what Node brings along anew, 25 ms for a thread.
 */
export function keepHeapSmall(): void {
  setFlagsFromString('--optimize-for-size');
  setFlagsFromString('--semi-space-growth-factor=1');
}
