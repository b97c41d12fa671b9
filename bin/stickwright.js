#!/usr/bin/env node
// CommonJS, because the thread pool's size must be set before anything uses the pool, and loading an ES module does.
'use strict';

// Files are read and written in libuv's pool of threads. Each stick keeps up to two of them waiting; with the usual four, two
// sticks that answer slowly would hold up all others, and the archive too.
process.env.UV_THREADPOOL_SIZE ??= '24';

import('../dist/cli/main.js').then(async ({ main }) => {
  process.exitCode = await main(process.argv.slice(2));
});
