// Bundles src into dist: a command starts in a third of the time where the parts it needs lie in a few files. Types are
// not looked at here; `npm test` does that.
import { copyFileSync, existsSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { brotliCompressSync } from 'node:zlib';
import { transform } from 'lightningcss';
import { rolldown } from 'rolldown';

const root = fileURLToPath(new URL('..', import.meta.url));

/** The command, and what the samples and the tests' own processes use of the project without it. */
const entries = [
  'cli/main',
  'cli/make-ports',
  'cli/set-up/desk-process',
  'core/rounds/records/own-digests',
  'io/families/load-families',
  'io/format/image-files',
  'io/rounds/append-records',
  'io/shelf/open-shelf',
  'workflows/shelf-add',
];

/** The library of the command line, the words that commands share, and the frame but for what only runs. */
const wordsOfAll =
  /node_modules\/(@commander-js\/extra-typings|commander)\/|src\/cli\/(desk|words|frame\/(agree|command|exit-codes|interruption|screen))\.ts$|src\/core\/(model\/(exit-codes|mode)|text\/visible)\.ts$/;

/** A library that is not there is none to be looked for where the command runs: there is no build then. */
const onlyWhatIsThere = {
  logLevel: 'warn',
  onLog: (level, log, tell) => {
    if (log.code === 'UNRESOLVED_IMPORT') throw new Error(`${log.message}\nRun npm ci, then build again.`);
    tell(level, log);
  },
};

/** For a browser, which reads no annotations; licences stay. */
const asShortAsCanBe = {
  minify: true,
  codeSplitting: false,
  comments: { annotation: false, jsdoc: false, legal: true },
};

/** In a browser no module but these does anything by being there: what is not used stays out, the schemas above all. */
const onlyWhatIsUsed = {
  moduleSideEffects: [
    {
      test: /src\/(page|pocket)\/(main\.tsx|state\.ts|page\.tsx)$|node_modules\/(@preact|preact)\//,
      sideEffects: true,
    },
    { test: /./, sideEffects: false },
  ],
};

/**
 * Where a rule comes from is said by `explain`, in no browser; and what was seen is put into words there only of the
 * areas that a browser judges itself: a test holds that no other's findings are made in one.
 */
const judgedThere = /catalogue\/(build|cards|family|fit|label|pocket|provenance|record|room|round|shelf)\.ts$/;
const wordsOfBrowsers = {
  name: 'words-of-browsers',
  transform(code, id) {
    if (!/src\/core\/findings\/catalogue\//.test(id)) return undefined;
    const unsaid = judgedThere.test(id) ? ['source'] : ['source', 'seen'];
    const ranges = propertiesNamed(unsaid, this.parse(code, { lang: 'ts' }));
    const left = ranges.reduceRight((rest, [from, to]) => rest.slice(0, from) + rest.slice(to).replace(/^,/, ''), code);
    return { code: left, map: { mappings: '' } };
  },
};

/** Where the properties of NAMES stand in what was parsed; a parameter that is taken apart has none. */
function propertiesNamed(names, node) {
  if (node === null || typeof node !== 'object' || node.type === 'ObjectPattern') return [];
  if (node.type === 'Property' && names.includes(node.key.name)) return [[node.start, node.end]];
  return Object.values(node).flatMap((part) => propertiesNamed(names, part));
}

const unfinished = `${root}dist-${process.pid}`;
const bundle = await rolldown({
  cwd: root,
  input: Object.fromEntries(entries.map((entry) => [entry, `src/${entry}.ts`])),
  platform: 'node',
  // Both look for files of their own: a native part, a WebAssembly module.
  external: ['drivelist', /^drivelist\//, 'js-fatfs'],
  resolve: { tsconfigFilename: 'tsconfig.json' },
  ...onlyWhatIsThere,
});
await bundle.write({
  dir: unfinished,
  format: 'esm',
  entryFileNames: '[name].js',
  chunkFileNames: 'parts/[name]-[hash].js',
  sourcemap: true,
  // Half of a package would be what the source says to its readers.
  comments: { jsdoc: false },
  // What every command needs before it can say its help is one file: each file more is a millisecond more.
  codeSplitting: { groups: [{ name: 'words', test: wordsOfAll }] },
});
await bundle.close();
await buildReader();
await buildPage('page', ['index.html', 'page.css', 'icon.svg']);
await buildPocket();
// Whoever runs the command meanwhile sees the old build or the new one.
const old = `${unfinished}-old`;
if (existsSync(`${root}dist`)) renameSync(`${root}dist`, old);
renameSync(unfinished, `${root}dist`);
rmSync(old, { recursive: true, force: true });
// The manual page is the help of every command; `npm install --global` puts it where man looks.
const { main } = await import('../dist/cli/main.js');
const { write } = process.stdout;
const page = [];
process.stdout.write = (chunk, ...then) => {
  page.push(chunk);
  then.at(-1)?.();
  return true;
};
const made = await main(['man']);
process.stdout.write = write;
if (made === 0) writeFileSync(`${root}dist/stickwright.1`, page.join(''));

/** What runs in a browser, as one script, with FILES beside it; compressed, as browsers take it. */
async function buildPage(name, files) {
  const page = await rolldown({
    cwd: root,
    input: `src/${name}/main.tsx`,
    // Loaded from beside it, where it is used.
    external: ['/code-reader.js'],
    platform: 'browser',
    resolve: { tsconfigFilename: `src/${name}/tsconfig.json` },
    treeshake: onlyWhatIsUsed,
    plugins: [wordsOfBrowsers],
    ...onlyWhatIsThere,
  });
  const folder = `${unfinished}/${name}`;
  await page.write({
    dir: folder,
    format: 'iife',
    ...asShortAsCanBe,
    entryFileNames: `${name}.js`,
    // Not for a browser: it names the libraries whose licences a package must carry.
    sourcemap: 'hidden',
  });
  await page.close();
  const pack = (file, ...from) => {
    const whole = Buffer.concat(from.map((path) => readFileSync(path)));
    const code = file.endsWith('.css') ? transform({ filename: file, code: whole, minify: true }).code : whole;
    writeFileSync(`${folder}/${file}.br`, brotliCompressSync(code));
  };
  // What only one sheet needs of the style lies beside that sheet.
  const beside = (file) => (file.endsWith('.css') ? stylesBelow(`${root}src/${name}`) : []);
  for (const file of files) pack(file, ...[file, ...beside(file)].map((path) => `${root}src/${name}/${path}`));
  pack(`${name}.js`, `${folder}/${name}.js`);
  rmSync(`${folder}/${name}.js`);
}

/** The reader of codes of the window's page, loaded only where somebody opens the camera, and its decoder beside it. */
async function buildReader() {
  const reader = await rolldown({
    cwd: root,
    input: 'src/page/camera/code-reader.ts',
    platform: 'browser',
    resolve: { tsconfigFilename: 'src/page/tsconfig.json' },
    ...onlyWhatIsThere,
  });
  const file = `${unfinished}/page/code-reader.js`;
  await reader.write({ file, format: 'esm', ...asShortAsCanBe, sourcemap: 'hidden' });
  await reader.close();
  writeFileSync(`${file}.br`, brotliCompressSync(readFileSync(file)));
  rmSync(file);
  const decoder = readFileSync(`${root}node_modules/zxing-wasm/dist/reader/zxing_reader.wasm`);
  writeFileSync(`${unfinished}/page/code-reader.wasm.br`, brotliCompressSync(decoder));
}

/** What runs in a phone, as one script that is laid into each file; its map names the libraries, as above. */
async function buildPocket() {
  const page = await rolldown({
    cwd: root,
    input: 'src/pocket/main.tsx',
    platform: 'browser',
    // The first with what ECMAScript 2023 added to arrays (MDN's tables): newer forms are written as they know them.
    transform: { target: ['chrome110', 'firefox115', 'safari16.4'] },
    resolve: { tsconfigFilename: 'src/pocket/tsconfig.json' },
    treeshake: onlyWhatIsUsed,
    plugins: [wordsOfBrowsers],
    ...onlyWhatIsThere,
  });
  const file = `${unfinished}/pocket/pocket.js`;
  await page.write({ file, format: 'iife', ...asShortAsCanBe, sourcemap: 'hidden' });
  await page.close();
  copyFileSync(`${root}src/pocket/pocket.css`, `${unfinished}/pocket/pocket.css`);
}

function stylesBelow(folder) {
  const files = readdirSync(folder, { recursive: true }).map((file) => file.replaceAll('\\', '/'));
  return files.filter((file) => /\/.+\.css$/.test(file)).toSorted();
}
