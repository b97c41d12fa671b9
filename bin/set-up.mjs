// Installs what is missing and builds what is older than its source; for `npm start` and `npm test` on a fresh machine.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, isAbsolute, join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('..', import.meta.url));

/**
 * Runs a program, given by its full path, in the project's folder with its output shown; ends this process where it
 * fails.
 */
export function run(program, args, options = {}) {
  const done = spawnSync(program, args, { cwd: root, stdio: 'inherit', ...options });
  if (done.error) throw done.error;
  if (done.status !== 0) process.exit(done.status ?? 1);
}

/**
 * npm as the file that Node runs: the npm that started us, else the one that came with this Node. Never one that a
 * search path finds.
 */
export function findNpm() {
  const here = dirname(process.execPath);
  const places = [
    ...(isAbsolute(process.env.npm_execpath ?? '') ? [process.env.npm_execpath] : []),
    join(here, 'node_modules', 'npm', 'bin', 'npm-cli.js'),
    join(here, '..', 'lib', 'node_modules', 'npm', 'bin', 'npm-cli.js'),
    '/usr/share/nodejs/npm/bin/npm-cli.js',
  ];
  const found = places.find((path) => /npm-cli\.c?js$/.test(path) && existsSync(path));
  if (found !== undefined) return found;
  process.stderr.write(
    'npm was not found beside this Node. Run `npm ci` here yourself, then the same command again.\n',
  );
  process.exit(2);
}

/** npm keeps a lock file of its own in node_modules; it is as new as the last install. */
function isInstalled() {
  const installed = `${root}node_modules/.package-lock.json`;
  const slackMs = 10_000;
  return existsSync(installed) && statSync(installed).mtimeMs + slackMs >= statSync(`${root}package-lock.json`).mtimeMs;
}

/** Says on stderr what it does; stdout stays free for the command that follows. */
export function setUp() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  if (major < 20 || (major === 20 && minor < 19)) {
    process.stderr.write(`Node ${process.versions.node} is too old: 20.19 or newer is needed.\n`);
    process.exit(2);
  }
  if (isInstalled() && isBuilt()) return;
  alone(() => {
    if (!isInstalled()) {
      process.stderr.write('Installing the packages named in package-lock.json …\n');
      run(process.execPath, [findNpm(), 'ci', '--no-audit', '--no-fund'], {
        stdio: ['ignore', process.stderr, process.stderr],
      });
    }
    if (!isBuilt()) {
      process.stderr.write('Building …\n');
      run(process.execPath, ['bin/build.mjs'], { stdio: ['ignore', process.stderr, process.stderr] });
      writeFileSync(`${root}dist/.built`, '');
    }
  });
}

/** Two commands in two terminals would take each other's packages away: the second waits until the first is done. */
function alone(work) {
  const lock = `${root}.set-up.lock`;
  for (let isTold = false; !isTaken(lock); isTold = true) {
    if (!isTold) process.stderr.write('Another command installs or builds here. Waiting for it …\n');
    Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 200);
  }
  const leave = () => rmSync(lock, { force: true });
  process.once('exit', leave); // `run` ends this process where something fails
  work();
  leave();
  process.off('exit', leave);
}

/** Whether LOCK is ours now; one whose process has ended is nobody's. */
function isTaken(lock) {
  try {
    writeFileSync(lock, String(process.pid), { flag: 'wx' });
    return true;
  } catch (error) {
    if (error.code !== 'EEXIST') throw error;
  }
  try {
    const holder = Number(readFileSync(lock, 'utf8'));
    if (holder > 0) process.kill(holder, 0);
  } catch (error) {
    if (error.code === 'ESRCH') rmSync(lock, { force: true });
  }
  return false;
}

const isBuilt = () => existsSync(`${root}dist/cli/main.js`) && !isOutdated();

/** What goes into dist: the sources, what bundles them, and the packages that are bundled with them. */
function isOutdated() {
  const mark = `${root}dist/.built`;
  if (!existsSync(mark)) return true;
  const builtMs = statSync(mark).mtimeMs;
  const inFolders = ['src', 'bin'].flatMap((folder) =>
    readdirSync(`${root}${folder}`, { recursive: true }).map((file) => `${folder}/${file}`),
  );
  return [...inFolders, 'package-lock.json'].some((file) => statSync(`${root}${file}`).mtimeMs > builtMs);
}

// `npm pack` in a fresh clone.
if (process.argv[1] === fileURLToPath(import.meta.url)) setUp();
