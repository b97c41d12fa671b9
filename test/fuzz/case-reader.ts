import { readWhole } from '../fixtures/archives/read-bytes.ts';
import { toCase } from './fuzz-archives.ts';

/** Runs in a process of its own, so that a crash, a hang or its memory is seen from outside. */
process.on('message', (path: string) => {
  readWhole(path).then(
    (reading) => process.send?.({ reading: toCase(reading), peakBytes: process.resourceUsage().maxRSS * 1024 }),
    (cause: Error) => process.send?.({ error: cause.stack ?? cause.message }),
  );
});
