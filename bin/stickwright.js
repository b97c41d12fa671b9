#!/usr/bin/env node
import { setFlagsFromString } from 'node:v8';
import { main } from '../dist/cli/main.js';

// The chunks that pass through live outside V8's heap and are freed when its young generation is swept. Kept small, it is
// swept often: prepare peaks at about 125 MB instead of 155. Measured on Node 20; a flag that V8 does not know is ignored.
setFlagsFromString('--semi-space-growth-factor=1');

// Left to itself V8 lets the old generation grow far beyond what is alive before it is swept. An archive of 100,000 entries
// peaks at about 180 MB instead of 220, for about a sixth more processor time there. Measured on Node 20.
setFlagsFromString('--heap-growing-percent=30');

process.exitCode = await main(process.argv.slice(2));
