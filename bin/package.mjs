// `npm run package [-- linux-x64 …]`: for each platform one archive that runs on a machine with nothing on it: an
// unmodified Node, the built tool, a launcher, example families, licences; beside them SHA256SUMS. Node comes from the
// npm registry, each version pinned with its integrity in node-versions.json. The same source and the same Node at
// work give the same bytes.
import { createHash } from 'node:crypto';
import { createWriteStream, mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { createGzip } from 'node:zlib';
import { pack } from 'tar-stream';
import { ZipFile } from 'yazl';
import { fetchPackage } from './fetch-node.mjs';
import { root, setUp } from './set-up.mjs';

setUp();
process.chdir(root);
const out = 'out/package';
const { version } = JSON.parse(readFileSync('package.json', 'utf8'));
const nodes = JSON.parse(readFileSync('bin/node-versions.json', 'utf8'));

const asked = process.argv.slice(2);
const platforms = asked.length === 0 ? Object.keys(nodes) : asked;
const unknown = platforms.filter((platform) => !(platform in nodes));
if (unknown.length > 0) {
  process.stderr.write(`There are these platforms: ${Object.keys(nodes).join(', ')}\n`);
  process.exit(2);
}

/** The time in all archives (reproducible-builds.org); else the one that npm gives everything it packs. */
const { SOURCE_DATE_EPOCH: epoch } = process.env;
const moment = new Date(epoch === undefined ? '1985-10-26T08:15:00Z' : Number(epoch) * 1000);

const filesBelow = (folder) =>
  readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name).replaceAll('\\', '/'));

/** What a WebAssembly module is compiled from besides its package's own code. */
const compiledIn = {
  'zxing-wasm': '\nIts module is compiled from zxing-cpp, Apache License 2.0: the text stands under canonicalize.\n',
};

/** The licences of what is bundled, as the source maps name it, and of what lies beside the bundle. */
function licences() {
  const maps = filesBelow('dist').filter((file) => file.endsWith('.map'));
  const sources = maps.flatMap((file) => JSON.parse(readFileSync(file, 'utf8')).sources);
  const folders = sources.flatMap((source) => /.*node_modules\/(?:@[^/]+\/)?[^/]+/.exec(source)?.[0] ?? []);
  const bundled = new Set(folders.map((folder) => folder.slice(folder.indexOf('node_modules/'))));
  return [...bundled, 'node_modules/js-fatfs'].sort().map((folder) => {
    const { name, version: its, license } = JSON.parse(readFileSync(`${folder}/package.json`, 'utf8'));
    const file = readdirSync(folder).find((one) => /^(licen[cs]e|copying)/i.test(one));
    const text = file === undefined ? `License: ${license}\n` : readFileSync(`${folder}/${file}`, 'utf8');
    return `${name} ${its}\n\n${text.trim()}\n${compiledIn[name] ?? ''}`;
  });
}

const rule = `\n${'-'.repeat(78)}\n\n`;

/** Everything but Node and its launcher, path → bytes. */
function toolFiles(nodeLicence) {
  const app = [
    ...filesBelow('dist').filter((file) => !file.endsWith('.map') && !file.endsWith('.built')),
    ...['js', 'wasm'].map((end) => `node_modules/js-fatfs/dist/fatfs.${end}`),
    ...['package.json', 'bin/stickwright.js', 'bin/package.json', 'node_modules/js-fatfs/package.json'],
  ];
  const texts = ['README.md', 'CHANGELOG.md', 'LICENSE'];
  return new Map([
    ...app.map((file) => [`app/${file}`, readFileSync(file)]),
    ...filesBelow('samples/families').map((file) => [
      file.replace('samples/families/', 'families/'),
      readFileSync(file),
    ]),
    ...texts.map((file) => [file, readFileSync(file)]),
    ['LICENSES.txt', Buffer.from([`Node.js\n\n${nodeLicence.toString().trim()}\n`, ...licences()].join(rule))],
  ]);
}

/** A shell script that starts the tool with WORDS; a link to it may lie anywhere on the search path. */
const shellLauncher = (words) =>
  [
    '#!/bin/sh',
    'here=$0',
    'while [ -L "$here" ]; do',
    '  to=$(readlink "$here")',
    '  case $to in /*) here=$to ;; *) here=$(dirname "$here")/$to ;; esac',
    'done',
    'here=$(CDPATH= cd -- "$(dirname "$here")" && pwd) || exit 70',
    `exec "$here/node" "$here/app/bin/stickwright.js"${words} "$@"`,
    '',
  ].join('\n');

const start = '@"%~dp0node.exe" "%~dp0app\\bin\\stickwright.js"';

/** For each system the tool itself, and what a double click opens: the desk in a window. */
const launchers = {
  win: {
    // `exit /b` hands the exit code on to whoever called.
    'stickwright.cmd': `${start} %*\r\n@exit /b %ERRORLEVEL%\r\n`,
    // What kept it from opening is read before the console goes.
    'open-desk.cmd': `${start} desk %*\r\n@if errorlevel 1 pause\r\n`,
  },
  darwin: { stickwright: shellLauncher(''), 'open-desk.command': shellLauncher(' desk') },
  linux: { stickwright: shellLauncher(''), 'open-desk': shellLauncher(' desk') },
};

async function filesFor(platform) {
  const isWindows = platform.startsWith('win');
  const program = isWindows ? 'bin/node.exe' : 'bin/node';
  const pinned = nodes[platform];
  const found = await fetchPackage(pinned, pinned.licence === undefined ? [program, 'LICENSE'] : [program]);
  const licence = pinned.licence === undefined ? found : await fetchPackage(pinned.licence, ['LICENSE']);
  const started = launchers[platform.split('-')[0]];
  const runs = [program.replace('bin/', ''), ...Object.keys(started)];
  const files = toolFiles(licence.get('LICENSE')).set(runs[0], found.get(program));
  for (const [name, text] of Object.entries(started)) files.set(name, Buffer.from(text));
  return [...files]
    .sort(([one], [other]) => (one < other ? -1 : 1))
    .map(([path, bytes]) => ({ path, bytes, mode: runs.includes(path) ? 0o755 : 0o644 }));
}

async function writeZip(file, files) {
  const zip = new ZipFile();
  // The fields of a zip are in local time and have no zone, so the same clock face is given everywhere.
  const mtime = new Date(moment.getTime() + moment.getTimezoneOffset() * 60_000);
  for (const { path, bytes, mode } of files)
    zip.addBuffer(bytes, path, { mtime, mode: 0o100000 | mode, forceDosTimestamp: true });
  zip.end();
  await pipeline(zip.outputStream, createWriteStream(file));
}

async function writeTar(file, files) {
  const tar = pack();
  for (const { path, bytes, mode } of files) tar.entry({ name: path, mode, mtime: moment, uid: 0, gid: 0 }, bytes);
  tar.finalize();
  await pipeline(tar, createGzip({ level: 9 }), createWriteStream(file));
}

mkdirSync(out, { recursive: true });
const sums = [];
for (const platform of platforms) {
  const folder = `stickwright-${version}-${platform}`;
  const files = (await filesFor(platform)).map((file) => ({ ...file, path: `${folder}/${file.path}` }));
  const name = `${folder}${platform.startsWith('win') ? '.zip' : '.tar.gz'}`;
  await (name.endsWith('.zip') ? writeZip : writeTar)(join(out, name), files);
  const bytes = readFileSync(join(out, name));
  sums.push(`${createHash('sha256').update(bytes).digest('hex')}  ${name}\n`);
  process.stdout.write(`${join(out, name)}: ${(bytes.length / 1e6).toFixed(1)} MB\n`);
}
writeFileSync(join(out, 'SHA256SUMS'), sums.join(''));
