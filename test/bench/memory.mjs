// `npm run bench:memory [-- --megabytes 1000 --runs 3 --only NAME --folder out/bench]`: the peak memory of whole processes, as GNU
// time sees it: what the system counts as theirs at the worst moment, threads and buffers included. Prints the highest of the runs.
import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { dirname } from 'node:path';
import { parseArgs } from 'node:util';
import { root, setUp } from '../../bin/set-up.mjs';
import { makeBenchArchive, makeManyEntries } from './make-bench-archive.mjs';

setUp();
process.chdir(root);
process.env.STICKWRIGHT_FAMILIES = 'samples/families';
const { values } = parseArgs({
  options: {
    megabytes: { type: 'string', default: '1000' },
    runs: { type: 'string', default: '3' },
    only: { type: 'string', default: '' },
    folder: { type: 'string', default: 'out/bench' },
  },
});
const { createStickImage } = await import('../../dist/io/format/create-stick-image.js');
const { folder } = values;
const archiveBytes = Number(values.megabytes) * 1e6;
const archive = `${folder}/${values.megabytes} MB/TSC4-2_K2_20260914.zip`;
const many = `${folder}/100,000 entries/TSC4-2_K2_20260914.zip`;
for (const path of [archive, many]) mkdirSync(dirname(path), { recursive: true });
await makeBenchArchive(archive, archiveBytes);
await makeManyEntries(many, 100_000);

const ours = `"${process.execPath}" bin/stickwright.js`;
const report = `>"${folder}/report.json"`;
const accepted = [
  'file-system-not-taken',
  'partition-table-not-taken',
  'larger-than-the-panel-takes',
  'several-partitions',
];
const accept = accepted.map((code) => `--accept stick/${code} --because "a benchmark"`).join(' ');
const names = Array.from({ length: 8 }, (_, index) => `${folder}/stick-${index + 1}`);
const folders = names;
const images = names.map((name) => `${name}.img`);
const prepare = (mode, sticks) =>
  `${ours} prepare "${archive}" --mode ${mode} --label "TS75C4-2 K2" ${sticks.map((stick) => `--stick "${stick}"`).join(' ')} --leftovers set-aside --yes --json ${accept} ${report}`;

function freshFolders() {
  clear();
  for (const path of folders) mkdirSync(path);
}

async function freshImages() {
  clear();
  const bytes = Math.ceil((archiveBytes * 1.6 + 2e8) / 2 ** 20) * 2 ** 20;
  for (const path of images) await createStickImage(path, { bytes, fileSystem: 'fat32', partitioned: true });
}

async function recoveryImages() {
  await freshImages();
  spawnSync('bash', ['-c', prepare('recovery', images)]);
}

function clear() {
  for (const path of [...folders, ...images]) rmSync(path, { recursive: true, force: true });
}

/** In this order: a case without `before` finds what the one above it left. */
const cases = [
  { name: 'inspect', run: `${ours} inspect "${archive}" --json ${report}` },
  { name: 'inspect, 100,000 entries', run: `${ours} inspect "${many}" --json ${report}` },
  { name: 'recovery, one folder', before: freshFolders, run: prepare('recovery', folders.slice(0, 1)) },
  { name: 'verify, one folder', run: `${ours} verify "${folders[0]}" --json ${report}` },
  { name: 'recovery, eight folders', before: freshFolders, run: prepare('recovery', folders) },
  { name: 'recovery, eight folders, again', run: prepare('recovery', folders) },
  { name: 'recovery, one image', before: freshImages, run: prepare('recovery', images.slice(0, 1)) },
  { name: 'recovery, eight images', before: freshImages, run: prepare('recovery', images) },
  { name: 'recovery, eight images, again', run: prepare('recovery', images) },
  { name: 'in-os, eight images that hold a recovery', before: recoveryImages, run: prepare('in-os', images) },
  { name: 'in-os, eight images', before: freshImages, run: prepare('in-os', images) },
];

process.stdout.write(`${archive}, ${values.runs} runs each; the highest peak\n\n`);
for (const { name, before, run } of cases) {
  if (!name.includes(values.only)) continue;
  const peaks = [];
  const codes = new Set();
  for (let index = 0; index < Number(values.runs); index++) {
    await before?.();
    const done = spawnSync('/usr/bin/time', ['-f', '%M', 'bash', '-c', run], { encoding: 'utf8', maxBuffer: 2 ** 26 });
    peaks.push(Number(done.stderr.trim().split('\n').at(-1)) * 1024);
    codes.add(done.status);
  }
  const peak = Math.max(...peaks);
  process.stdout.write(
    `${name.padEnd(42)} ${(peak / 2 ** 20).toFixed(0)} MiB   ${(peak / 1e6).toFixed(0)} MB   exit codes ${[...codes].join(',')}\n`,
  );
}
clear();
