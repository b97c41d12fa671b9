#!/usr/bin/env node
// CommonJS, because the thread pool's size must be set before anything uses the pool, and loading an ES module does.
'use strict';

const { setFlagsFromString } = require('node:v8');

// Files are read and written in libuv's pool of threads. Each stick keeps up to two of them waiting; with the usual four, two
// sticks that answer slowly would hold up all others, and the archive too.
process.env.UV_THREADPOOL_SIZE ??= '24';

// The chunks that pass through live outside V8's heap and are freed when its young generation is swept. Kept small, it is
// swept often: prepare peaks at about 125 MB instead of 155. Measured on Node 20; a flag that V8 does not know is ignored.
setFlagsFromString('--semi-space-growth-factor=1');

// Left to itself V8 lets the old generation grow far beyond what is alive before it is swept. An archive of 100,000 entries
// peaks at about 180 MB instead of 220, for about a sixth more processor time there. Measured on Node 20.
setFlagsFromString('--heap-growing-percent=30');

import('../dist/cli/main.js').then(async ({ main }) => {
  process.exitCode = await main(process.argv.slice(2));
});
