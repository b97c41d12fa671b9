// `npm run bench:memory [-- --megabytes 1000 --runs 3 --only NAME --folder out/bench]`: the peak memory of whole
// processes, as GNU time sees it: what the system counts as theirs at the worst moment, threads and buffers included.
// Prints the highest of the runs.
import { spawnSync } from 'node:child_process';
import { mkdirSync, rmSync } from 'node:fs';
import { dirname } from 'node:path';
import { makeDesk } from './desk.mjs';
import { makeManyEntries } from './make-bench-archive.mjs';

const { folder, only, runs, archive, ours, report, prepare, makeImage } = await makeDesk({ runs: 3 });
const many = `${folder}/100,000 entries/reed.1717_5B_second_K2.zip`;
mkdirSync(dirname(many), { recursive: true });
await makeManyEntries(many, 100_000);

const folders = Array.from({ length: 8 }, (_, index) => `${folder}/stick-${index + 1}`);
const images = folders.map((path) => `${path}.img`);

function freshFolders() {
  clear();
  for (const path of folders) mkdirSync(path);
}

async function freshImages() {
  clear();
  for (const path of images) await makeImage(path);
}

async function recoveryImages() {
  await freshImages();
  spawnSync('bash', ['-c', prepare('recovery', ...images)]);
}

function clear() {
  for (const path of [...folders, ...images]) rmSync(path, { recursive: true, force: true });
}

/** In this order: a case without `before` finds what the one above it left. */
const cases = [
  { name: 'inspect', run: `${ours} inspect "${archive}" --json ${report}` },
  { name: 'inspect, 100,000 entries', run: `${ours} inspect "${many}" --json ${report}` },
  { name: 'recovery, one folder', before: freshFolders, run: prepare('recovery', ...folders.slice(0, 1)) },
  { name: 'verify, one folder', run: `${ours} verify "${folders[0]}" --json ${report}` },
  { name: 'recovery, eight folders', before: freshFolders, run: prepare('recovery', ...folders) },
  { name: 'recovery, eight folders, again', run: prepare('recovery', ...folders) },
  { name: 'recovery, one image', before: freshImages, run: prepare('recovery', ...images.slice(0, 1)) },
  { name: 'recovery, eight images', before: freshImages, run: prepare('recovery', ...images) },
  { name: 'recovery, eight images, again', run: prepare('recovery', ...images) },
  { name: 'in-os, eight images that hold a recovery', before: recoveryImages, run: prepare('in-os', ...images) },
  { name: 'in-os, eight images', before: freshImages, run: prepare('in-os', ...images) },
];

process.stdout.write(`${archive}, ${runs} runs each; the highest peak\n\n`);
for (const { name, before, run } of cases) {
  if (!name.includes(only)) continue;
  const peaks = [];
  const codes = new Set();
  for (let index = 0; index < runs; index++) {
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
