const { coreOrder, ordersWithin } = require('./core-order.cjs');

/** The layers of the source tree, and which may know which. Each rule's comment says why. */
const lib = (names) => `node_modules/(${names.join('|')})(/|$)`;

/** One rule a folder: what it may not import. */
function inOrder(base, order) {
  return order
    .flatMap(([folders, reason], line) =>
      folders.map((folder) => {
        const later = order.slice(line + 1).flatMap(([names]) => names);
        const others = [...folders.filter((name) => name !== folder), ...later];
        return {
          name: `order-of-${base.replace('src/', '').replaceAll('/', '-')}-${folder}`,
          comment: `${folder}: ${reason}.`,
          severity: 'error',
          from: { path: `^${base}/${folder}/` },
          to: { path: `^${base}/(${others.join('|')})/` },
        };
      }),
    )
    .filter(({ to }) => !to.path.includes('()'));
}

module.exports = {
  forbidden: [
    {
      name: 'no-cycles',
      comment: 'A file must be understandable without the files that use it.',
      severity: 'error',
      from: {},
      to: { circular: true },
    },
    {
      name: 'nobody-imports-cli',
      comment: 'cli is the outermost shell; whatever others need from it belongs further in.',
      severity: 'error',
      from: { pathNot: '^src/cli' },
      to: { path: '^src/cli' },
    },
    {
      name: 'server-is-an-edge',
      comment: 'The window is an edge as cli is: workflows in, documents out. What both need lies further in.',
      severity: 'error',
      from: { path: '^src/(core|io|workflows|render|page|pocket)' },
      to: { path: '^src/server' },
    },
    {
      name: 'browser-pages-know-core',
      comment:
        'What runs in a browser has no disk; what it judges, core judges. It hears the rest from a server or a file.',
      severity: 'error',
      from: { path: '^src/(page|pocket)' },
      to: {
        pathNot: [
          '^src/(core|page|pocket)',
          lib(['preact', '@preact/signals', 'jsqr', 'zxing-wasm', 'uqr', '@noble/hashes', 'fflate']),
        ],
      },
    },
    {
      name: 'nobody-imports-browser-pages',
      comment: 'A page is a program of its own; the build puts it beside the command.',
      severity: 'error',
      from: { pathNot: '^src/(page|pocket)' },
      to: { path: '^src/(page|pocket)' },
    },
    {
      name: 'src-never-imports-test',
      comment: 'What ships must not depend on what checks it.',
      severity: 'error',
      from: { path: '^src' },
      to: { path: '^test' },
    },
    {
      name: 'core-knows-only-core',
      comment: 'The rules must run without a disk, a clock or a terminal, so that any check can be tested by a value.',
      severity: 'error',
      from: { path: '^src/core' },
      to: { path: '^src/', pathNot: '^src/core' },
    },
    {
      name: 'core-is-pure',
      comment:
        'No node:*, and of libraries only a schema validator (model), a linear-time pattern matcher (label), a glob matcher (plan), a protobuf reader (update-package), canonical JSON (manifest), a checksum (volume-format) and an edit distance (rounds): all synchronous and free of I/O.',
      severity: 'error',
      from: { path: '^src/core' },
      to: {
        pathNot: [
          '^src/core',
          lib(['zod', 're2js', 'canonicalize', 'picomatch', '@bufbuild/protobuf', 'crc-32', 'fastest-levenshtein']),
        ],
      },
    },
    ...inOrder('src/core', coreOrder),
    ...Object.entries(ordersWithin).flatMap(([folder, order]) => inOrder(`src/core/${folder}`, order)),
    {
      name: 'structures-before-audits',
      comment: 'What reads a boot sector, a table or a folder knows nothing of who judges or lays it out.',
      severity: 'error',
      from: { path: '^src/core/volume-format/[^/]+\\.ts$' },
      to: { path: '^src/core/volume-format/[^/]+/' },
    },
    {
      name: 'io-knows-core-and-io',
      comment: 'The edge answers questions; it does not decide what is asked.',
      severity: 'error',
      from: { path: '^src/io' },
      to: { path: '^src/(workflows|render|cli)' },
    },
    {
      name: 'workflows-see-ports-only',
      comment: 'A workflow reads as its list of stages and runs against any implementation of a port.',
      severity: 'error',
      from: { path: '^src/workflows' },
      to: {
        path: '^src/(io|render|cli)',
        pathNot:
          '^src/io/(archive/archive|volume/volume|drives/drives|digest/digest|shelf/shelf|rounds/rounds|rooms/room-lists)\\.ts$',
      },
    },
    {
      name: 'workflows-are-pure-shell',
      comment: 'Files, clocks and libraries come in through ports.',
      severity: 'error',
      from: { path: '^src/workflows' },
      to: { pathNot: ['^src/'] },
    },
    {
      name: 'render-knows-core',
      comment: 'A renderer is a function of a report.',
      severity: 'error',
      from: { path: '^src/render' },
      to: { path: '^src/(io|workflows|cli)' },
    },
    {
      name: 'one-door-to-programs',
      comment:
        'What starts programs must know their full paths: a bare name is looked for in the current folder or along a search path, and either may be the stick.',
      severity: 'error',
      from: { path: '^src', pathNot: '^src/io/programs/(run-program|own-process)\\.ts$' },
      to: { path: '^(node:)?(child_process|cluster)$' },
    },
    {
      name: 'no-orphans',
      comment: 'A module that nobody uses is dead. The file of a thread is named, not imported.',
      severity: 'error',
      from: { orphan: true, path: '^src', pathNot: '-worker\\.js$' },
      to: {},
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsConfig: { fileName: 'tsconfig.json' },
    tsPreCompilationDeps: true,
    enhancedResolveOptions: {
      exportsFields: ['exports'],
      extensions: ['.ts', '.tsx', '.js', '.json'],
      conditionNames: ['import', 'node', 'default', 'types'],
    },
  },
};
