import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportSchema } from '../../src/core/report/report-schema.ts';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, panelLabel } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let folder: string;
let archive: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright cli ü-'));
  archive = await makeArchive(folder);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let count = 0;
const makeStick = async (): Promise<string> =>
  makeFatImage(join(folder, `stick ${++count}.img`), 64 * 2 ** 20, {
    kind: 'fat32',
    clusterBytes: 512,
    partitioned: true,
  });

const job = (stick: string, ...more: readonly string[]): readonly string[] => [
  'prepare',
  archive,
  '--mode',
  'recovery',
  '--label',
  panelLabel,
  '--running',
  'reed.746',
  '--stick',
  stick,
  ...more,
];

describe('the whole job, as a shell sees it', () => {
  it('prepares, verifies, and says the exit codes of the README', async () => {
    const stick = await makeStick();
    expect(stickwright(['verify', stick]).exitCode).toBe(1);
    expect([0, 4]).toContain(stickwright(job(stick, '--dry-run')).exitCode);
    expect([0, 4]).toContain(stickwright(job(stick, '--yes')).exitCode);
    expect([0, 4]).toContain(stickwright(['verify', stick, '--label', panelLabel]).exitCode);
    expect(stickwright(['verify', stick, '--quick']).exitCode).toBe(4);
    expect(stickwright(['verify', stick, '--label', 'K3-second 75/5B']).exitCode).toBe(1);
  });

  it('does not let a stick for recovery pass for a job in the running system', async () => {
    const stick = await makeStick();
    expect([0, 4]).toContain(stickwright(job(stick, '--yes')).exitCode);
    expect([0, 4]).toContain(stickwright(['verify', stick, '--mode', 'recovery']).exitCode);
    const other = stickwright(['verify', stick, '--mode', 'in-os']);
    expect(other.exitCode).toBe(1);
    expect(other.stdout.replace(/\s+/g, ' ')).toMatch(
      /recovery mode, which WIPES the panel; you are about to use it in in-os/,
    );
    const document = reportSchema.parse(JSON.parse(stickwright(['verify', stick, '--mode', 'in-os', '--json']).stdout));
    const found = document.findings.find(({ code }) => code === 'verify/other-mode');
    expect(found).toMatchObject({ severity: 'stop', facts: { prepared: 'recovery', asked: 'in-os', wipes: true } });
    expect(stickwright(['verify', stick, '--returned', '--mode', 'in-os']).exitCode).toBe(1);
    expect(stickwright(['verify', stick, '--mode', 'sideways']).exitCode).toBe(2);
  });

  it('says in words that a recovery wipes the panel, before and after', async () => {
    const stick = await makeStick();
    for (const words of [job(stick, '--dry-run'), job(stick, '--yes'), ['verify', stick]]) {
      expect(stickwright(words).stdout).toMatch(/EVERYTHING ON THE PANEL IS WIPED/);
    }
  });

  it('names the file when one byte of it is changed with dd', async () => {
    const stick = await makeStick();
    stickwright(job(stick, '--yes'));
    const at = readFileSync(stick).indexOf('invented\n');
    spawnSync('dd', [`of=${stick}`, 'bs=1', `seek=${at}`, 'conv=notrunc', 'status=none'], { input: 'I' });
    const answer = stickwright(['verify', stick]);
    expect(answer.exitCode).toBe(1);
    expect(answer.stdout).toMatch(/STOP +A firmware file has changed/);
    expect(answer.stdout).toMatch(/release-note\.txt/);
  });
});

describe('--json', () => {
  it('puts one document on stdout, of the published schema, and nothing else anywhere', async () => {
    const stick = await makeStick();
    const all = [
      ['inspect', archive, '--label', panelLabel],
      ['label', panelLabel],
      job(stick, '--dry-run'),
      job(stick, '--yes'),
      ['verify', stick],
      ['verify', stick, '--label', 'K3-second 75/5B'],
      ['verify', join(folder, 'not there')],
      ['drives'],
    ];
    for (const words of all) {
      const { stdout, stderr, exitCode } = stickwright([...words, '--json']);
      expect(stdout.split('\n'), words.join(' ')).toHaveLength(2);
      const document = reportSchema.parse(JSON.parse(stdout));
      expect(document.exitCode).toBe(exitCode);
      // Nothing but how far it is, a document a line.
      for (const line of stderr.split('\n').filter((one) => one !== ''))
        expect(JSON.parse(line), words.join(' ')).toMatchObject({ schema: 'stickwright/progress/1' });
    }
  });

  it('gives an error as a document too', () => {
    const { stdout, exitCode } = stickwright(['verify', join(folder, 'not there'), '--json']);
    expect(exitCode).toBe(3);
    expect(JSON.parse(stdout)).toMatchObject({ verdict: null, error: { code: 'stick/not-found' } });
  });
});

describe('wrong words', () => {
  const cases: Readonly<Record<string, readonly string[]>> = {
    'an unknown command': ['prepair'],
    'an unknown option': ['verify', 'x', '--fast'],
    'no mode': ['prepare', 'x.zip', '--label', 'x', '--stick', 'x'],
    'a mode that is none': ['prepare', 'x.zip', '--mode', 'flash', '--label', 'x', '--stick', 'x'],
    'no label': ['prepare', 'x.zip', '--mode', 'in-os', '--stick', 'x'],
    'no stick': ['prepare', 'x.zip', '--mode', 'in-os', '--label', 'x', '--yes'],
    'an unknown code': ['explain', 'stick/none-such'],
    'a code that cannot be accepted': [
      'prepare',
      'x.zip',
      '--mode',
      'in-os',
      '--label',
      'x',
      '--stick',
      'x',
      '--yes',
      '--accept',
      'stick/read-only',
      '--because',
      'why not',
    ],
    'an accept without a reason': [
      'prepare',
      'x.zip',
      '--mode',
      'in-os',
      '--label',
      'x',
      '--stick',
      'x',
      '--yes',
      '--accept',
      'stick/dirty',
    ],
    'an empty reason': [
      'prepare',
      'x.zip',
      '--mode',
      'in-os',
      '--label',
      'x',
      '--stick',
      'x',
      '--yes',
      '--accept',
      'stick/dirty',
      '--because',
      ' ',
    ],
    'nobody to agree': ['prepare', 'x.zip', '--mode', 'in-os', '--label', 'x', '--stick', 'x'],
  };
  for (const [title, words] of Object.entries(cases)) {
    it(`${title}: exit code 2, a word on stderr, nothing on stdout`, () => {
      const { exitCode, stdout, stderr } = stickwright(words);
      expect({ exitCode, stdout }).toEqual({ exitCode: 2, stdout: '' });
      expect(stderr.length).toBeGreaterThan(10);
    });
  }

  it('suggests the command that was meant', () => {
    expect(stickwright(['prepair']).stderr).toMatch(/Did you mean prepare/);
  });
});

describe('on a screen', () => {
  it('has no escapes where it is piped, where NO_COLOR is set, and has them where colour is forced', () => {
    const escapes = /\u001b\[/;
    expect(stickwright(['label', panelLabel]).stdout).not.toMatch(escapes);
    expect(stickwright(['label', panelLabel], { FORCE_COLOR: '1' }).stdout).toMatch(escapes);
    expect(stickwright(['label', panelLabel], { FORCE_COLOR: '1', NO_COLOR: '1' }).stdout).not.toMatch(escapes);
  });

  it('says the same words with and without colour', () => {
    const bare = stickwright(['label', panelLabel]).stdout;
    const coloured = stickwright(['label', panelLabel], { FORCE_COLOR: '1' }).stdout;
    expect(coloured.replace(/\u001b\[[0-9;]*m/g, '')).toBe(bare);
  });

  it('keeps to 80 columns', async () => {
    const stick = await makeStick();
    for (const words of [
      ['inspect', archive, '--label', 'K3-second 75/5B'],
      job(stick, '--dry-run'),
      ['verify', stick],
    ]) {
      const wide = stickwright(words)
        .stdout.split('\n')
        .filter((line) => line.length > 80 && !/\S{60}/.test(line));
      expect(wide).toEqual([]);
    }
  });

  it('shows names from an archive without letting them steer the terminal', async () => {
    const nasty = await makeArchive(folder, { 'a\u001b[2Jb.img': Buffer.from('x') }, 'reed.1461_5B_second_K2.zip');
    expect(stickwright(['inspect', nasty]).stdout).not.toContain('\u001b');
  });

  it('ends quietly when the reader goes away', () => {
    const done = spawnSync(
      'bash',
      ['-c', `"${process.execPath}" bin/stickwright.js explain | head -1; exit \${PIPESTATUS[0]}`],
      { encoding: 'utf8' },
    );
    expect(done.stderr).toBe('');
    expect(done.status).toBe(0);
  });
});

describe('help', () => {
  it('is printed for every command, with an example and the exit codes', () => {
    const listed =
      stickwright(['--help'])
        .stdout.split('Commands:\n')[1]
        ?.split('\n\n')[0]
        ?.match(/^ {2}\w+/gm) ?? [];
    const commands = listed.map((name) => name.trim()).filter((name) => name !== 'help');
    expect(commands).toContain('prepare');
    for (const command of commands) {
      const { stdout, exitCode } = stickwright([command, '--help']);
      expect(exitCode).toBe(0);
      expect(stdout).toMatch(/Examples:\n {2}stickwright/);
      if (command !== 'explain') expect(stdout).toMatch(/Exit codes: 0 ready, 1 not ready/);
    }
  });

  it('names the command that was meant, also of those that were not loaded', () => {
    const { exitCode, stderr } = stickwright(['verfy', 'stick.img']);
    expect(exitCode).toBe(2);
    expect(stderr).toContain('Did you mean verify?');
  });

  it('ends quietly where its reader went away', () => {
    const words = `"${process.execPath}" bin/stickwright.js --help | true; exit "\${PIPESTATUS[0]}"`;
    const done = spawnSync('bash', ['-c', words], { encoding: 'utf8' });
    expect(done).toMatchObject({ status: 0, stderr: '' });
  });

  it('is short for the bare command', () => {
    const { stdout, exitCode } = stickwright([]);
    expect(exitCode).toBe(0);
    expect(stdout.split('\n').length).toBeLessThan(45);
  });

  it('knows its version', () => {
    const { version } = JSON.parse(readFileSync('package.json', 'utf8')) as { version: string };
    expect(stickwright(['--version']).stdout.trim()).toBe(version);
  });
});

it('a wrong variant changes not one byte of the stick', async () => {
  const stick = await makeStick();
  const before = readFileSync(stick);
  const { mtimeMs } = statSync(stick);
  const answer = stickwright([
    'prepare',
    archive,
    '--mode',
    'recovery',
    '--label',
    'K3-second 75/5B',
    '--stick',
    stick,
    '--yes',
  ]);
  expect(answer.exitCode).toBe(1);
  expect(readFileSync(stick).equals(before)).toBe(true);
  expect(statSync(stick).mtimeMs).toBe(mtimeMs);
});

it('a family file with a fault stops everything and names file and line', () => {
  const path = join(folder, 'broken.yaml');
  writeFileSync(
    path,
    readFileSync('samples/families/sedge.yaml', 'utf8').replace('size: "75", series: 5B', 'size: "75", series: 5D'),
  );
  const answer = stickwright(['label', panelLabel, '--family', path]);
  expect(answer.exitCode).toBe(3);
  expect(answer.stderr).toMatch(/broken\.yaml:\d+:\d+/);
});

it('says before anything is written when the panel runs a newer build, or must take another first', async () => {
  const stick = await makeStick();
  const codesFor = (running: string): readonly string[] => {
    const words = job(stick, '--dry-run', '--json').map((word) => (word === 'reed.746' ? running : word));
    const { stdout } = stickwright(words);
    return reportSchema.parse(JSON.parse(stdout)).findings.map(({ code }) => code);
  };
  expect(codesFor('reed.1826')).toContain('build/older');
  expect(codesFor('reed.1717')).toContain('build/same');
  expect(codesFor('reed.365')).toContain('build/bridge-needed');
  expect(codesFor('reed.746')).toContain('build/newer');
});

it('never ends with 0 where it has nothing left to wait for and did not come to its end', () => {
  // A call that is never answered and that keeps nothing alive, as a fault of ours or of Node would be.
  const preload = join(folder, 'never.cjs');
  writeFileSync(
    preload,
    `const files = require('node:fs/promises');
    files.open = () => new Promise(() => {});
    require('node:module').syncBuiltinESMExports();`,
  );
  const { exitCode, stdout, stderr } = stickwright(['inspect', archive], { NODE_OPTIONS: `--require "${preload}"` });
  expect({ exitCode, stdout }).toEqual({ exitCode: 70, stdout: '' });
  expect(stderr).toContain('no stick is ready by this run');
});
