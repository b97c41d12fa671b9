// Installs what is missing and builds what is older than its source; for `npm start` and `npm test` on a fresh machine.
import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('..', import.meta.url));

/** Runs a program in the project's folder with its output shown; ends this process where it fails. */
export function run(program, args, options = {}) {
  const shell = process.platform === 'win32' && program.endsWith('.cmd');
  const done = spawnSync(program, args, { cwd: root, stdio: 'inherit', shell, ...options });
  if (done.error) throw done.error;
  if (done.status !== 0) process.exit(done.status ?? 1);
}

const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';

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
  if (!isInstalled()) {
    process.stderr.write('Installing the packages named in package-lock.json …\n');
    run(npm, ['ci', '--no-audit', '--no-fund'], { stdio: ['ignore', process.stderr, process.stderr] });
  }
  if (!existsSync(`${root}dist/cli/main.js`) || isOutdated()) {
    process.stderr.write('Building …\n');
    run(process.execPath, ['bin/build.mjs'], { stdio: ['ignore', process.stderr, process.stderr] });
    writeFileSync(`${root}dist/.built`, '');
  }
}

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
