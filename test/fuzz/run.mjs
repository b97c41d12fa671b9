// `npm run fuzz [-- --seconds 60 --seed N --cases N --corpora FOLDER]`: mutates sound archives and reads each in a
// process that is watched: no crash, no hang over 5 s, memory under 200 MB; where we say fine, unzip, 7z and Python's
// zipfile must agree.
import { fork } from 'node:child_process';
import { parseArgs } from 'node:util';
import { root, run } from '../../bin/set-up.mjs';

process.chdir(root);
const { values } = parseArgs({
  options: {
    seconds: { type: 'string', default: '60' },
    seed: { type: 'string', default: String(Date.now() % 2 ** 31) },
    cases: { type: 'string', default: 'Infinity' },
    corpora: { type: 'string', default: process.env.STICKWRIGHT_CORPORA ?? '' },
    folder: { type: 'string', default: 'out/fuzz' },
  },
});
run(process.execPath, ['node_modules/typescript/bin/tsc', '-p', 'test/fuzz/tsconfig.json']);
const built = `${root}out/fuzz-build/test`;
const { fuzzArchives, soundCorpora } = await import(`${built}/fuzz/fuzz-archives.js`);
const { archiveCorpora } = await import(`${built}/outside/archive-corpora-table.js`);

const longestMs = 5000;
const mostBytes = 200e6;
let peakBytes = 0;
let reader;

/** Asks the reading process; one that hangs, dies or grows too large is replaced. */
const read = (path) =>
  new Promise((resolve, reject) => {
    reader ??= fork(`${built}/fuzz/case-reader.js`);
    const done = (end, value) => {
      clearTimeout(timer);
      reader.removeAllListeners();
      if (end === reject) {
        reader.kill('SIGKILL');
        reader = undefined;
      }
      end(value);
    };
    const timer = setTimeout(() => done(reject, new Error(`no answer in ${longestMs} ms`)), longestMs);
    reader.once('exit', (code, signal) => done(reject, new Error(`the process ended: ${signal ?? code}`)));
    reader.once('message', (answer) => {
      if (answer.error) return done(reject, new Error(answer.error));
      peakBytes = Math.max(peakBytes, answer.peakBytes);
      if (answer.peakBytes > mostBytes) return done(reject, new Error(`${answer.peakBytes} bytes of memory`));
      return done(resolve, answer.reading);
    });
    reader.send(path);
  });

const seed = Number(values.seed);
const more = values.corpora ? await soundCorpora(values.corpora, archiveCorpora) : [];
if (!values.corpora) console.log('Public test archives are left out: STICKWRIGHT_CORPORA is not set.');
const mostMs = Number(values.seconds) * 1000;
const result = await fuzzArchives({ seed, mostCases: Number(values.cases), mostMs, folder: values.folder, more, read });
reader?.removeAllListeners();
reader?.kill();
console.log(`seed ${seed}: ${result.cases} archives tried, ${result.fine} called fine and agreed on or listed below`);
console.log(`slowest ${Math.round(result.slowestMs)} ms, peak memory of the reader ${Math.round(peakBytes / 1e6)} MB`);
for (const fault of result.faults) console.log(`FAULT ${fault}`);
process.exitCode = result.faults.length === 0 ? 0 : 1;
