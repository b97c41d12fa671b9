// `npm run bench [-- --megabytes 1000 --runs 5 --only NAME]`: whole processes, ours and what a person would run by
// hand, in turn in one run; at last against what a stick of some speed must take. Prints medians and ratios; says
// nothing about good or bad. Needs GNU time, Info-ZIP unzip, coreutils, mtools, openssl; for the sticks' own speed
// nbdkit, nbdfuse, nbdcopy.
import { spawnSync } from 'node:child_process';
import { makeDesk } from './desk.mjs';
import { slowSticks } from './slow-sticks.mjs';

const { folder, megabytes, only, runs, archive, ours, prepare, makeImage } = await makeDesk({ runs: 5 });
const fresh = (name) => `rm -rf "${folder}/${name}" && mkdir "${folder}/${name}"`;
/** For the rows that read a stick: it is written once for each archive. */
const stick = `${folder}/stick of ${megabytes} MB`;
const written = `[ -e "${stick}/stickwright" ] || { rm -rf "${stick}" && mkdir "${stick}" && ${prepare('recovery', stick)}; }`;
const four = ['one', 'two', 'three', 'four'];
const image = (name) => () => makeImage(`${folder}/${name}`);

const { plugIn, unplug, count } = slowSticks(makeImage);
const slowOnes = four.map((name) => `${folder}/slow-${name}.img`);
const seconds = (...speeds) => speeds.reduce((sum, speed) => sum + (Number(megabytes) * 1e6) / speed, 0);

/** At a stick's own speed, SPEED in bytes a second each way; against what its bytes must take. */
const atSpeed = (speed) =>
  [slowOnes.slice(0, 1), slowOnes].map((sticks) => ({
    name: `prepare recovery, ${sticks.length} of ${speed / 1e6} MB/s : bytes / write speed + bytes / read speed`,
    runsMore: 0.4,
    ours: { before: () => plugIn(sticks, speed), run: prepare('recovery', ...sticks) },
    limit: seconds(speed, speed),
  }));

/**
 * `before` is not timed; `runsMore`: so short, or long, that it is run so many times more often. The last column of a
 * row is ours over theirs, or over `limit`, in seconds.
 */
const rows = [
  {
    name: 'inspect : unzip -tq',
    ours: { run: `${ours} inspect "${archive}" --json >"${folder}/report.json"` },
    theirs: { run: `unzip -tq "${archive}"` },
  },
  {
    name: 'prepare recovery, folder : unzip -tq, unzip, sha256sum, sync, sha256sum -c',
    ours: { before: fresh('ours'), run: prepare('recovery', `${folder}/ours`) },
    theirs: {
      before: fresh('theirs'),
      run: `unzip -tq "${archive}" && unzip -qo "${archive}" -d "${folder}/theirs" && cd "${folder}/theirs" && find . -type f -print0 | xargs -0 sha256sum >../list && sync && sha256sum --quiet -c ../list`,
    },
  },
  {
    name: 'prepare in-os, folder : unzip -tq, cp, sync, sha256sum twice',
    ours: { before: fresh('ours-whole'), run: prepare('in-os', `${folder}/ours-whole`) },
    theirs: {
      before: fresh('theirs-whole'),
      run: `unzip -tq "${archive}" && cp "${archive}" "${folder}/theirs-whole/" && sync && sha256sum "${archive}" "${folder}"/theirs-whole/*`,
    },
  },
  {
    name: 'verify : sha256sum -c',
    ours: { before: written, run: `${ours} verify "${stick}" --json >"${folder}/report.json"` },
    theirs: { run: `cd "${stick}" && sha256sum --quiet -c stickwright/checksums.sha256` },
  },
  {
    name: 'verify : openssl dgst -sha256',
    ours: { before: written, run: `${ours} verify "${stick}" --json >"${folder}/report.json"` },
    theirs: { run: `find "${stick}" -type f -print0 | xargs -0 openssl dgst -sha256 >"${folder}/list"` },
  },
  {
    name: 'prepare recovery, FAT image, checks and all : mcopy of the unpacked files, sync',
    ours: { before: image('ours.img'), run: prepare('recovery', `${folder}/ours.img`) },
    theirs: {
      before: image('theirs.img'),
      run: `mcopy -Q -s -i "${folder}/theirs.img@@1M" "${folder}"/theirs/* ::/ && sync "${folder}/theirs.img"`,
    },
  },
  ...['recovery', 'in-os'].map((mode) => ({
    name: `prepare ${mode}, four folders at once : one folder`,
    ours: {
      before: four.map((name) => fresh(name)).join(' && '),
      run: prepare(mode, ...four.map((name) => `${folder}/${name}`)),
    },
    theirs: { before: fresh('ours'), run: prepare(mode, `${folder}/ours`) },
  })),
  {
    name: '--help : node -e 0',
    runsMore: 10,
    ours: { run: `${ours} --help >"${folder}/report.json"` },
    theirs: { run: `"${process.execPath}" -e 0` },
  },
  ...atSpeed(20e6),
  {
    name: 'verify, 1 of 20 MB/s : bytes / read speed',
    runsMore: 0.4,
    ours: { before: writtenSlowOne, run: `${ours} verify "${slowOnes[0]}" --json >"${folder}/report.json"` },
    limit: seconds(20e6),
  },
  ...atSpeed(100e6),
];

/** Written at any speed; it is plugged in again for a look at nothing but the medium. */
async function writtenSlowOne() {
  const [path] = slowOnes;
  if (count() === 1 && isWritten(path)) return;
  await plugIn([path], 20e6);
  spawnSync('bash', ['-c', prepare('recovery', path)], { stdio: 'inherit' });
}

const isWritten = (path) => spawnSync('mdir', ['-b', '-i', `${path}@@1M`, '::/stickwright']).status === 0;

const median = (numbers) => numbers.toSorted((a, b) => a - b)[Math.floor(numbers.length / 2)];

async function measure({ before, run }) {
  if (typeof before === 'function') await before();
  else if (before !== undefined) spawnSync('bash', ['-c', before], { stdio: 'inherit' });
  const done = spawnSync('/usr/bin/time', ['-f', '%e %M', 'bash', '-c', run], { encoding: 'utf8', maxBuffer: 2 ** 26 });
  const [seconds, kibibytes] = done.stderr.trim().split('\n').at(-1).split(' ').map(Number);
  return { seconds, megabytes: kibibytes / 1024, status: done.status };
}

process.stdout.write(`${archive}, ${runs} runs each, in turn; medians\n\n`);
for (const row of rows.filter(({ name }) => name.includes(only))) {
  const [a, b] = [[], []];
  for (let index = 0; index <= Math.max(1, runs * (row.runsMore ?? 1)); index++) {
    const mine = await measure(row.ours);
    const other = row.limit === undefined ? await measure(row.theirs) : { seconds: row.limit, status: 0 };
    if (index > 0) {
      a.push(mine);
      b.push(other);
    }
  }
  const ratio = median(a.map(({ seconds }, index) => seconds / b[index].seconds));
  const inSeconds = (list) => median(list.map((one) => one.seconds)).toFixed(2);
  const peak = median(a.map(({ megabytes }) => megabytes)).toFixed(0);
  const codes = [...new Set([...a.map(({ status }) => status), ...b.map(({ status }) => status)])].join(',');
  process.stdout.write(
    `${row.name}\n    ${inSeconds(a)} s : ${inSeconds(b)} s   ratio ${ratio.toFixed(2)}   peak ${peak} MB   exit codes ${codes}\n`,
  );
}
await unplug();
