#!/usr/bin/env node
// CommonJS, because the thread pool's size must be set before anything uses the pool, and loading an ES module does.
'use strict';

// Files are read and written in libuv's pool of threads. Each stick keeps up to two of them waiting; with the usual
// four, two sticks that answer slowly would hold up all others, and the archive too.
process.env.UV_THREADPOOL_SIZE ??= '24';

// A process that has nothing left to wait for ends without a word, and with 0, which a script takes for a yes. So 0 is
// what is said at the end, and 70 (`bug` in src/cli/frame/exit-codes.ts) what is said where that end is never reached.
process.exitCode = 70;
const leaveNobodyInDoubt = () => {
  process.stderr.write(
    'stickwright ended before it was done. This is a fault of the tool; no stick is ready by this run.\n',
  );
};
process.once('beforeExit', leaveNobodyInDoubt);
// Node itself would end with 1, which means: not ready.
process.on('uncaughtException', (error) => {
  process.stderr.write(`${error?.stack ?? error}\n`, () => {});
  leaveNobodyInDoubt();
  process.exit(70);
});

import('../dist/cli/main.js').then(async ({ main }) => {
  process.exitCode = await main(process.argv.slice(2));
  process.off('beforeExit', leaveNobodyInDoubt);
});
