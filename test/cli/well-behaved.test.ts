import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { stripVTControlCharacters } from 'node:util';
import { Command } from '@commander-js/extra-typings';
import { afterAll, beforeAll, describe, expect, it, test } from 'vitest';
import { commands } from '../../src/cli/commands.ts';
import { addWords } from '../../src/cli/frame/command.ts';
import { stickwright } from '../fixtures/command.ts';
import { familyExamples, makeArchive, panelLabel, sha256 } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

let folder: string;
let archive: string;

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stickwright well behaved-'));
  archive = await makeArchive(folder);
  writeFileSync(`${archive}.sha256`, `${sha256(readFileSync(archive))}  ${archive.split('/').at(-1)}\n`);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

let sticks = 0;
const newStick = (): Promise<string> =>
  makeFatImage(join(folder, `stick-${++sticks}.img`), 64 * 2 ** 20, {
    kind: 'fat32',
    clusterBytes: 512,
    partitioned: true,
  });

/** As `stickwright`, with something on standard input. */
function heard(input: string, words: readonly string[]) {
  const done = spawnSync(process.execPath, ['bin/stickwright.js', ...words], {
    ...{ encoding: 'utf8', input },
    env: { ...process.env, STICKWRIGHT_FAMILIES: 'samples/families', NO_COLOR: '' },
  });
  return { exitCode: done.status, stdout: done.stdout, stderr: done.stderr };
}

describe('the words that every command takes', () => {
  it('have short forms for the commonest', async () => {
    const stick = await newStick();
    const short = stickwright([
      'prepare',
      archive,
      '-m',
      'in-os',
      '-l',
      panelLabel,
      '--running',
      'reed.746',
      '-s',
      stick,
      '-n',
      '-j',
    ]);
    const long = stickwright([
      'prepare',
      archive,
      '--mode',
      'in-os',
      '--label',
      panelLabel,
      '--running',
      'reed.746',
      '--stick',
      stick,
      '--dry-run',
      '--json',
    ]);
    expect(short.exitCode).toBe(0);
    expect(JSON.parse(short.stdout)).toEqual(JSON.parse(long.stdout));
  });

  test('--quiet leaves the answer and what went wrong; what is asked about is shown all the same', async () => {
    const stick = await newStick();
    const loud = stickwright([
      'prepare',
      archive,
      '-m',
      'in-os',
      '-l',
      panelLabel,
      '--running',
      'reed.746',
      '-s',
      stick,
      '--yes',
    ]);
    const quiet = stickwright([
      'prepare',
      archive,
      '-m',
      'in-os',
      '-l',
      panelLabel,
      '--running',
      'reed.746',
      '-s',
      stick,
      '--yes',
      '--quiet',
    ]);
    expect([loud.exitCode, quiet.exitCode]).toEqual([0, 0]);
    expect(loud.stderr).not.toBe('');
    expect(quiet.stderr).toBe('');
    expect(loud.stdout).toContain('Plan');
    expect(quiet.stdout).not.toContain('To write');
    expect(quiet.stdout).toMatch(/^READY/m);
    expect(stickwright(['verify', join(folder, 'not there'), '-q']).stderr).toContain('[stick/not-found]');
  });

  test('--verbose says on stderr what is used and from where; the answer is the same', () => {
    const plain = stickwright(['label', panelLabel]);
    const more = stickwright(['label', panelLabel, '-v']);
    expect(more.stdout).toBe(plain.stdout);
    expect(more.stderr).toMatch(/^stickwright \d.*\nfamilies: samples\/families \(environment\)\n$/);
    expect(plain.stderr).toBe('');
  });

  test('--color beats the variables, and they beat what the terminal is', () => {
    const escapes = (words: readonly string[], environment: Readonly<Record<string, string>> = {}): boolean =>
      stickwright(['label', 'nonsense', ...words], environment).stdout.includes('\u001b[');
    expect(escapes([])).toBe(false);
    expect(escapes(['--color', 'auto'])).toBe(false);
    expect(escapes(['--color', 'always'])).toBe(true);
    expect(escapes(['--color', 'always'], { NO_COLOR: '1' })).toBe(true);
    expect(escapes(['--color', 'never'], { FORCE_COLOR: '1' })).toBe(false);
    expect(escapes([], { FORCE_COLOR: '1' })).toBe(true);
    expect(stickwright(['label', 'x', '--color', 'red']).exitCode).toBe(2);
  });

  test('--debug shows where in the code; without it nobody sees a stack', () => {
    const words = ['verify', join(folder, 'not there')];
    expect(stickwright(words).stderr).not.toMatch(/^ +at /m);
    expect(stickwright([...words, '--debug']).stderr).toMatch(/^ +at /m);
    const preload = join(folder, 'broken.cjs');
    writeFileSync(
      preload,
      `require('node:crypto').createHash = () => { throw new TypeError('a fault of ours'); };
      require('node:module').syncBuiltinESMExports();`,
    );
    const fault = (...more: readonly string[]) =>
      stickwright(['label', panelLabel, ...more], { NODE_OPTIONS: `--require "${preload}"` });
    expect([fault().exitCode, fault().stderr]).toEqual([70, expect.not.stringMatching(/^ +at /m)]);
    expect(fault().stderr).toContain('--debug shows where');
    expect(fault('--debug').stderr).toMatch(/^ +at /m);
  });

  test('-- ends the options', () => {
    expect(stickwright(['label', '--', '--json']).stdout).toContain('"--json"');
  });
});

describe('standard input', () => {
  test.each([
    ['a list of labels', ['label', '--list', '-'], () => `${panelLabel}\n`, 0],
    ['examples of a family', ['family', 'new', '--from', '-', '--dry-run'], () => familyExamples, 0],
    [
      'a family file to read with',
      ['label', panelLabel, '--family', '-'],
      () => readFileSync('samples/families/sedge.yaml', 'utf8'),
      0,
    ],
    ['a family file to check', ['family', 'check', '-'], () => readFileSync('samples/families/sedge.yaml', 'utf8'), 0],
    [
      'a room list',
      ['round', 'plan', '-', '--dry-run', '--json', '--round', 'x.round', '--shelf'],
      () => 'Room,Label\n1.01,"K2-second 75/5B"\n',
      undefined,
    ],
  ])('is taken for %s', (_what, words, input, exitCode) => {
    const isRound = words.at(-1) === '--shelf';
    const shelf = join(folder, 'packages');
    if (isRound) expect(stickwright(['shelf', 'add', archive, '--shelf', shelf]).exitCode).toBe(0);
    const all = isRound ? [...words, shelf] : words;
    const { exitCode: ended, stdout, stderr } = heard(input(), all);
    if (exitCode === undefined) {
      expect(JSON.parse(stdout)).toMatchObject({ command: 'round plan' });
      expect(stdout).toContain('"1.01"');
    } else expect([ended, stderr]).toEqual([exitCode, '']);
  });

  it('is read once, and is no package, whose name says for which panel it is', () => {
    const twice = heard(readFileSync('samples/families/sedge.yaml', 'utf8'), ['label', '--list', '-', '--family', '-']);
    expect([twice.exitCode, twice.stderr]).toEqual([3, expect.stringContaining('read once only')]);
    for (const words of [
      ['inspect', '-'],
      ['shelf', 'add', '-', '--shelf', join(folder, 'shelf')],
    ]) {
      const refused = heard('', words);
      expect([refused.exitCode, refused.stderr]).toEqual([3, expect.stringContaining('cannot come on standard input')]);
    }
  });
});

test('under --json long work tells on stderr how far it is, a document a line', async () => {
  const stick = await newStick();
  const { stdout, stderr } = stickwright([
    'prepare',
    archive,
    '-m',
    'in-os',
    '-l',
    panelLabel,
    '-s',
    stick,
    '-y',
    '-j',
  ]);
  expect(stdout.split('\n')).toHaveLength(2);
  const lines = stderr
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as { schema: string; kind: string; stage?: string; job?: { step: number } });
  expect(new Set(lines.map(({ schema }) => schema))).toEqual(new Set(['stickwright/progress/1']));
  const steps = lines.flatMap(({ kind, stage, job }) =>
    kind === 'stage' && job !== undefined ? [[job.step, stage]] : [],
  );
  expect(steps).toEqual([
    [1, 'writing'],
    [2, 'flushing'],
    [3, 'reading-back'],
    [4, 'finishing'],
  ]);
  expect(lines.at(-1)).toMatchObject({ kind: 'end', state: 'written' });
  expect(stickwright(['verify', stick, '--json', '--quiet']).stderr).toBe('');
});

test('no line of an answer is wider than 80 columns, also where a terminal says that it has none', () => {
  const wide = (text: string): readonly string[] => text.split('\n').filter((line) => line.length > 80);
  for (const words of [['next'], ['settings'], ['check-desk'], ['label', 'K2-second 75/SB']])
    expect(wide(stickwright(words, { COLUMNS: '0' }).stdout), words.join(' ')).toEqual([]);
});

describe('help', () => {
  it('begins with examples, for every group and for a command', () => {
    for (const words of [[], ['prepare'], ['shelf'], ['shelf', 'add'], ['settings']])
      expect(stickwright([...words, '--help']).stdout, words.join(' ')).toMatch(/^Examples:\n {2}stickwright /);
    expect(stickwright(['-V']).stdout).toMatch(/^\d+\.\d+\.\d+\n$/);
  });

  it('has no line over 80 columns but what is to be copied, for any command', async () => {
    const wide = (help: string) =>
      help.split('\n').filter((line) => line.length > 80 && !line.startsWith('  stickwright '));
    expect(wide(stickwright(['--help']).stdout)).toEqual([]);
    for (const [name, , load] of commands) {
      if (typeof load !== 'function') continue;
      let help = '';
      const it = new Command(name).configureHelp({ helpWidth: 80 }).configureOutput({
        writeOut: (text) => {
          help += text;
        },
      });
      addWords(it as unknown as Command, await load(), async () => {});
      it.outputHelp();
      expect(help).toMatch(/^Examples:/);
      expect(wide(help), name).toEqual([]);
    }
  });
});

test('colour adds nothing to the words: without it they are the same', () => {
  for (const words of [
    ['label', 'K2-second 75/SB'],
    ['inspect', archive, '--label', panelLabel],
    ['family', 'list'],
  ]) {
    const [plain, coloured] = ['never', 'always'].map((when) => stickwright([...words, '--color', when]).stdout);
    expect(coloured, words.join(' ')).not.toBe(plain);
    expect(stripVTControlCharacters(coloured ?? '')).toBe(plain);
  }
});

test('the order of an answer does not change from run to run', () => {
  for (const words of [
    ['explain'],
    ['family', 'list', '--json'],
    ['inspect', archive, '--label', 'K3-second 75/5B', '--json'],
  ])
    expect(stickwright(words).stdout).toBe(stickwright(words).stdout);
});

test('nothing in it speaks to a network', { tags: ['nobody-else'] }, () => {
  const files = readdirSync('src', { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts'));
  const speaking = files.filter((name) =>
    /from 'node:(http|https|http2|net|tls|dgram|dns)'|\bfetch\(|WebSocket|XMLHttpRequest/.test(
      readFileSync(join('src', name), 'utf8'),
    ),
  );
  expect(files.length).toBeGreaterThan(300);
  // A lock that ends with its process: a socket by name on this machine, which no network reaches.
  // And the window: our own page speaks to our own server, on this machine alone (test/window/doors.test.ts).
  // And its routes, asked within one process (`app.fetch` of hono): nothing leaves it.
  expect(speaking.toSorted()).toEqual([
    'io/volume/lock-stick.ts',
    'page/talk.ts',
    'server/away/work-away.ts',
    'server/serve-desk.ts',
  ]);
});

test('no word of any command takes a secret, which others could read in the list of processes', () => {
  const names = stickwright(['--help']).stdout.matchAll(/^ {2}([a-z-]+(?: [a-z-]+)?) {2,}/gm);
  const commands = [...names].map(([, name = '']) => name.split(' '));
  expect(commands.length).toBeGreaterThan(15);
  const words = commands.flatMap((name) => stickwright([...name, '--help']).stdout.match(/--[a-z0-9-]+/g) ?? []);
  expect(new Set(words).size).toBeGreaterThan(40);
  expect(words.filter((word) => /pass|secret|token|credential|private|\bkey/.test(word))).toEqual([]);
});

test('a reader that goes away ends an answer quietly', () => {
  const line = '"$0" bin/stickwright.js explain | head -n 1; echo "$PIPESTATUS"';
  const done = spawnSync('bash', ['-c', line, process.execPath], { encoding: 'utf8' });
  expect(done.stderr).toBe('');
  expect(done.stdout.trim().split('\n').at(-1)).toBe('0');
});

test('all that is wrong is said in one pass: of the words and of a family file', () => {
  const { stderr } = stickwright(['prepare']);
  for (const missing of ['--mode', '--label', '--stick']) expect(stderr).toContain(missing);
  const broken = join(folder, 'broken.yaml');
  writeFileSync(
    broken,
    readFileSync('samples/families/sedge.yaml', 'utf8')
      .replace('schema: 1', 'schema: 9')
      .replace(/^title: .*$/m, 'title: ""'),
  );
  const told = stickwright(['family', 'check', broken]);
  const said = told.stdout + told.stderr;
  expect(said).toMatch(/schema/);
  expect(said).toMatch(/title/);
});
