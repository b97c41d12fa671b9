import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { chmodSync, chownSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, vi } from 'vitest';
import { makeArchive, packageName, panelLabel } from '../fixtures/desk.ts';
import { needs } from './needs.ts';

// Packing fetches Node, and unpacking a hundred megabytes takes its time on a busy machine.
vi.setConfig({ testTimeout: 600_000, hookTimeout: 600_000 });

interface Pinned {
  readonly package: string;
  readonly version: string;
  readonly integrity: string;
}

const folder = mkdtempSync(join(tmpdir(), 'stickwright packages-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const { version } = JSON.parse(readFileSync('package.json', 'utf8')) as { version: string };
const platform = `linux-${process.arch}`;
const archive = join('out/package', `stickwright-${version}-${platform}.tar.gz`);
// A machine with nothing on it: no network, no search path, an empty home. GNU tar reads what was packed.
const itAlone = needs({ unshare: 'util-linux', setpriv: 'util-linux', tar: 'tar', sha256sum: 'coreutils' });

const isRoot = process.getuid?.() === 0;
const nobody = 65_534;
const noRights = ['--clear-groups', '--inh-caps=-all', '--bounding-set=-all'];

/** As a shell of another zone and other rights to new files has it. */
function pack(zone = 'UTC', mask = 0o022): void {
  const made = ['-c', `umask ${mask.toString(8)} && exec "$0" "$@"`, process.execPath, 'bin/package.mjs', platform];
  const done = spawnSync('sh', made, { encoding: 'utf8', env: { ...process.env, TZ: zone } });
  expect([done.status, done.stdout], done.stderr).toEqual([0, expect.stringContaining(archive)]);
}

const sum = (path: string): string => createHash('sha256').update(readFileSync(path)).digest('hex');

describe.runIf(platform === 'linux-x64' || platform === 'linux-arm64')('the package of this platform', () => {
  const home = join(folder, 'home');
  const unpacked = join(folder, `stickwright-${version}-${platform}`);
  /** Nobody in particular, with no right beyond that, where this is root. */
  const person = isRoot ? ['setpriv', `--reuid=${nobody}`, `--regid=${nobody}`, ...noRights] : [];
  const alone = (...words: readonly string[]) => {
    const command = [...person, 'env', '-i', `HOME=${home}`, join(unpacked, 'stickwright'), ...words];
    return spawnSync('unshare', [isRoot ? '-n' : '-rn', ...command], { cwd: home, encoding: 'utf8' });
  };

  beforeAll(() => {
    mkdirSync(home);
    chmodSync(folder, 0o755);
    if (isRoot) chownSync(home, nobody, nobody);
    pack();
    spawnSync('tar', ['-xzf', join(process.cwd(), archive)], { cwd: folder });
  });

  itAlone('does the main job with no network, no rights, no npm and no Node but its own', async () => {
    const firmware = await makeArchive(folder);
    const image = join(home, 'stick.img');
    const families = ['--family', join(unpacked, 'families')];
    const job = ['--mode', 'recovery', '--label', panelLabel, '--image', image, '--size', '64MB', ...families];
    const prepared = alone('prepare', firmware, ...job, '--yes');
    expect([prepared.status, prepared.stdout]).toEqual([4, expect.stringContaining('no-published-hash')]);
    expect(alone('verify', image, '--label', panelLabel).stdout).toContain(packageName);
    expect(alone('verify', image, '--label', 'K3-second 75/5B').status).toBe(1);
    expect(alone('--version').stdout).toBe(`${version}\n`);
  });

  itAlone('opens the desk by what a double click starts', async () => {
    const raised = process.getuid?.() === 0 ? ['--raised'] : [];
    const desk = spawn('env', ['-i', `HOME=${home}`, join(unpacked, 'open-desk'), '--no-open', ...raised], {
      cwd: folder,
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    try {
      let said = '';
      for await (const chunk of desk.stderr) {
        said += String(chunk);
        if (/#\S+\n/.test(said)) break;
      }
      const origin = /http:\/\/127\.0\.0\.1:\d+\//.exec(said)?.[0] ?? said;
      expect(await (await fetch(origin)).text()).toContain('<title>stickwright desk</title>');
      expect((await fetch(`${origin}page.js`)).status).toBe(200);
    } finally {
      desk.kill();
    }
  });

  itAlone('carries the list of checksums that coreutils confirms, and a licence of all that is in it', () => {
    const checked = spawnSync('sha256sum', ['-c', 'SHA256SUMS'], { cwd: 'out/package', encoding: 'utf8' });
    expect(checked.stdout).toContain(`${platform}.tar.gz: OK`);
    const licences = readFileSync(join(unpacked, 'LICENSES.txt'), 'utf8');
    for (const name of ['Node.js', 'yauzl', 'commander', 'fast-glob', 'crc-32', 'js-fatfs', 'zod', 'hono', 'preact'])
      expect(licences, name).toMatch(new RegExp(`^${name}( |$)`, 'm'));
    expect(licences).not.toMatch(/License: undefined/);
    expect(licences.split(/^-{78}$/m).find((one) => /^\s*canonicalize /.test(one))).toContain('Apache License');
    expect(licences).toContain('zxing-cpp, Apache License 2.0');
  });

  itAlone('is the same byte for byte when it is made again, elsewhere in the world', () => {
    const before = sum(archive);
    rmSync(archive);
    pack('Asia/Tokyo', 0o077);
    expect(sum(archive)).toBe(before);
  });
});

describe('every package', () => {
  const nodes = JSON.parse(readFileSync('bin/node-versions.json', 'utf8')) as Readonly<Record<string, Pinned>>;
  const systems = {
    linux: ['node', 'open-desk'],
    win: ['node.exe', 'open-desk.cmd'],
    darwin: ['node', 'open-desk.command'],
  };

  itAlone('is of a Node that one file pins by its version and its bytes, for each system that is named', () => {
    expect(Object.keys(nodes)).toEqual(['linux-x64', 'linux-arm64', 'win-x64', 'darwin-x64', 'darwin-arm64']);
    for (const { package: name, version: its, integrity } of Object.values(nodes)) {
      expect(name).toMatch(/^node-/);
      expect(its).toMatch(/^2\d\.\d+\.\d+$/);
      expect(integrity).toMatch(/^sha512-.{86}==$/);
    }
  });

  // By hand before a release, and in the gate those that run there: each brings a Node of 40 MB from the registry.
  const wanted = process.env.STICKWRIGHT_PACKAGES === 'all' ? Object.keys(nodes) : [platform];
  for (const one of wanted)
    itAlone(`holds the Node as it was published, launchers, families and licences: ${one}`, () => {
      const made = spawnSync(process.execPath, ['bin/package.mjs', one], { encoding: 'utf8' });
      expect(made.status, made.stderr).toBe(0);
      const [node = '', opener = ''] = systems[one.split('-')[0] as keyof typeof systems];
      const into = join(folder, `is-${one}`);
      mkdirSync(into);
      const name = `stickwright-${version}-${one}`;
      const packed = resolve('out/package', name);
      if (one.startsWith('win')) spawnSync('unzip', ['-q', `${packed}.zip`, '-d', into]);
      else spawnSync('tar', ['-xzf', `${packed}.tar.gz`, '-C', into]);
      const files = readdirSync(join(into, name)).toSorted();
      const launcher = one.startsWith('win') ? 'stickwright.cmd' : 'stickwright';
      const texts = ['CHANGELOG.md', 'LICENSE', 'LICENSES.txt', 'README.md'];
      expect(files).toEqual([...texts, 'app', 'families', node, opener, launcher].toSorted());
      const { package: published = '', version: its } = nodes[one] as Pinned;
      const original = join(into, 'original');
      mkdirSync(original);
      const tarball = resolve('out/package/nodes', `${published}-${its}.tgz`);
      spawnSync('tar', ['-xzf', tarball, '-C', original, `package/bin/${node}`]);
      expect(sum(join(into, name, node))).toBe(sum(join(original, 'package/bin', node)));
      expect(readdirSync(join(into, name, 'app/node_modules'))).toEqual(['js-fatfs']);
      rmSync(into, { recursive: true });
    });
});

describe('the package of npm', () => {
  itAlone('is small, carries no source maps, and runs where it is installed', () => {
    const run = (program: string, ...words: readonly string[]) =>
      spawnSync(program, words, { cwd: folder, encoding: 'utf8', shell: false });
    const npm = process.env.npm_execpath ?? 'npm';
    const npmRun = (...words: readonly string[]) =>
      npm.endsWith('js') ? run(process.execPath, npm, ...words) : run(npm, ...words);
    expect(npmRun('pack', '--silent', process.cwd()).status).toBe(0);
    const tarball = readdirSync(folder).find((name) => name.endsWith('.tgz')) ?? 'none';
    expect(statSync(join(folder, tarball)).size).toBeLessThan(1.5e6);
    const listed = run('tar', '-tzf', tarball).stdout;
    expect(listed).toContain('package/dist/cli/main.js');
    expect(listed).not.toMatch(/\.map$|package\/(src|test)\//m);
    expect(
      npmRun('install', '--prefix', 'installed', '--omit=optional', '--no-audit', '--no-fund', tarball).status,
    ).toBe(0);
    const installed = run('du', '-sb', 'installed/node_modules').stdout;
    expect(Number.parseInt(installed, 10)).toBeLessThan(10e6);
    expect(run('installed/node_modules/.bin/stickwright', '--version').stdout).toBe(`${version}\n`);
    const once = npmRun('exec', '--yes', '--omit=optional', `--package=./${tarball}`, '--', 'stickwright', '--version');
    expect([once.status, once.stdout], once.stderr).toEqual([0, `${version}\n`]); // what npx is (npm-exec)
  });
});
