import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, it, test } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { familyExamples, makeArchive, packageName, panelLabel, sha256 } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

const places: string[] = [];
let desk: Record<string, string>;
let config: string;

beforeEach(() => {
  const home = mkdtempSync(join(tmpdir(), 'stickwright settings-'));
  places.push(home);
  config = join(home, 'config', 'stickwright');
  desk = {
    ...{ HOME: home, XDG_CONFIG_HOME: join(home, 'config'), XDG_DATA_HOME: join(home, 'data') },
    ...{ STICKWRIGHT_FAMILIES: '', STICKWRIGHT_PUBLISHED_HASH: '', STICKWRIGHT_TRUSTED_SEALS: '', TZ: '' },
  };
});
afterAll(() => {
  for (const place of places) rmSync(place, { recursive: true, force: true });
});

/** What `family new` would write of its own example. */
function heardExamples(): string {
  const path = join(places.at(-1) ?? '', 'examples.yaml');
  writeFileSync(path, familyExamples);
  return run('family', 'new', '--from', path, '--dry-run').stdout;
}

const run = (...words: readonly string[]) => stickwright(words, desk);
interface Seen {
  readonly name: string;
  readonly value: string | null;
  readonly from: string;
}
const seen = (name: string, environment: Record<string, string> = {}): Seen | undefined => {
  const { settings } = JSON.parse(stickwright(['settings', '--json'], { ...desk, ...environment }).stdout) as {
    settings: readonly Seen[];
  };
  return settings.find((one) => one.name === name);
};

/** The words behind `prepare` and the archive. */
const recoveryOn = (stick: string): readonly string[] => [
  ...['--mode', 'recovery', '--label', panelLabel],
  ...['--family', 'samples/families', '--stick', stick, '--yes'],
];

describe('settings', () => {
  it('are shown with value and origin: word over variable over file over default', () => {
    expect(seen('families')).toMatchObject({ value: null, from: 'default' });
    expect(run('settings', 'set', 'families', 'samples/families').exitCode).toBe(0);
    expect(seen('families')).toMatchObject({ value: join(process.cwd(), 'samples/families'), from: 'file' });
    const variable = { STICKWRIGHT_FAMILIES: 'samples/families/sedge.yaml' };
    expect(seen('families', variable)).toMatchObject({ value: 'samples/families/sedge.yaml', from: 'environment' });
    const names = (words: readonly string[], environment = {}) =>
      stickwright(['family', 'list', ...words], { ...desk, ...environment })
        .stdout.split('\n')
        .flatMap((line) => line.trim().split(' ')[0] || []);
    expect(names([])).toEqual(['basalt', 'lantern', 'sedge']);
    expect(names([], variable)).toEqual(['sedge']);
    expect(names(['--family', 'samples/families/basalt.yaml'], variable)).toEqual(['basalt']);
    expect(run('settings', 'unset', 'families').exitCode).toBe(0);
    expect(seen('families')).toMatchObject({ from: 'default' });
  });

  it.each([
    ['paper', 'a4', 'a5 or a6'],
    ['time-zone', 'Mars/Base', 'no time zone'],
    ['families', '/not/there', 'there is no /not/there'],
    ['papr', 'a5', 'There is no setting papr. Did you mean paper?'],
  ])('refuses %s %s when it is set', (name, value, why) => {
    const refused = run('settings', 'set', name, value);
    expect([refused.exitCode, refused.stderr]).toEqual([2, expect.stringContaining(why)]);
    expect(seen('paper')).toMatchObject({ from: 'default' });
  });

  test('a rule that is misspelt, or a file that cannot be understood, is not taken for none', {
    tags: ['doubt-stays'],
  }, () => {
    const misspelt = stickwright(['family', 'list'], { ...desk, STICKWRIGHT_PUBLISHED_HASH: 'allways' });
    expect([misspelt.exitCode, misspelt.stderr]).toEqual([2, expect.stringContaining('STICKWRIGHT_PUBLISHED_HASH')]);
    mkdirSync(config, { recursive: true });
    for (const text of ['{', '{"schema":"stickwright/settings/9"}', '{"schema":"stickwright/settings/1","x":"1"}']) {
      writeFileSync(join(config, 'settings.json'), text);
      expect(run('family', 'list', '--family', 'samples/families').exitCode, text).toBe(3);
      const looked = run('check-desk');
      expect([looked.exitCode, looked.stdout], text).toEqual([1, expect.stringMatching(/Settings +BROKEN/)]);
    }
  });

  test('none makes ready of what is unproven without it; the rule on hashes makes unproven of what is ready', {
    tags: ['doubt-stays'],
  }, async () => {
    const folder = places.at(-1) ?? '';
    // This family says that its maker publishes no hash, so none is missed.
    const family = readFileSync('samples/families/sedge.yaml', 'utf8').replace(
      'build: {',
      'published-hash: none\nbuild: {',
    );
    writeFileSync(join(folder, 'sedge.yaml'), family);
    const archive = await makeArchive(folder);
    const inspect = () =>
      run('inspect', archive, '--label', panelLabel, '--family', join(folder, 'sedge.yaml')).exitCode;
    expect(inspect()).toBe(0);
    expect(run('settings', 'set', 'published-hash', 'always').exitCode).toBe(0);
    expect(inspect()).toBe(4);
    writeFileSync(join(folder, `${packageName}.sha256`), `${sha256(readFileSync(archive))}  ${packageName}\n`);
    expect(inspect()).toBe(0);
  });

  it('are used where a desk has no other word: whose name, and in which zone', async () => {
    const folder = places.at(-1) ?? '';
    const stick = await makeFatImage(join(folder, 'stick.img'), 64 * 2 ** 20, {
      ...{ kind: 'fat32', clusterBytes: 512, partitioned: true },
    });
    const words = recoveryOn(stick);
    const at = { ...desk, SOURCE_DATE_EPOCH: '1790000000' };
    expect([0, 4]).toContain(stickwright(['prepare', await makeArchive(folder), ...words], at).exitCode);
    const prepared = () => /Prepared +(.*)/.exec(run('verify', stick).stdout)?.[1];
    expect(run('settings', 'set', 'time-zone', 'Pacific/Auckland').exitCode).toBe(0);
    expect(prepared()).toMatch(/^2026-09-22 02:13 (NZST|GMT\+12)/);
    expect(run('settings', 'set', 'time-zone', 'UTC').exitCode).toBe(0);
    expect(prepared()).toMatch(/^2026-09-21 14:13 UTC/);
    expect(run('settings', 'set', 'who', 'I. Marlow').exitCode).toBe(0);
    const made = heardExamples();
    expect(made).toContain("by: 'I. Marlow'");
  });

  it('take only sticks of desks that are trusted, any of several', async () => {
    const folder = places.at(-1) ?? '';
    const keyOf = (name: string): string => join(folder, `${name}.key`);
    for (const name of ['other', 'own'])
      expect(stickwright(['seal', 'new'], { ...desk, STICKWRIGHT_SEAL_KEY: keyOf(name) }).exitCode).toBe(0);
    const archive = await makeArchive(folder);
    const prepared = async (name: string, key: Record<string, string>): Promise<string> => {
      const stick = await makeFatImage(join(folder, name), 64 * 2 ** 20, {
        ...{ kind: 'fat32', clusterBytes: 512, partitioned: true },
      });
      const words = recoveryOn(stick);
      expect([0, 4]).toContain(stickwright(['prepare', archive, ...words], { ...desk, ...key }).exitCode);
      return stick;
    };
    const unsealed = await prepared('unsealed.img', {});
    const sealed = await prepared('sealed.img', { STICKWRIGHT_SEAL_KEY: keyOf('own') });
    const pubs = ['other', 'own'].map((name) => join(folder, `${name}.pub`));
    expect(run('settings', 'set', 'trusted-seals', ...pubs).exitCode).toBe(0);
    const missing = run('verify', unsealed);
    expect(missing.stdout, missing.stderr).toContain('[verify/seal-missing]');
    expect(run('verify', sealed).stdout).toContain('[verify/sealed]');
    expect(run('settings', 'set', 'trusted-seals', pubs[0] ?? '').exitCode).toBe(0);
    expect(run('verify', sealed).stdout).toContain('[verify/sealed-by-another]');
  });
});

describe('check-desk', () => {
  it('says what is there, what is missing and what for, and changes nothing', () => {
    const { exitCode, stdout } = run('check-desk', '--json');
    expect(exitCode).toBe(0);
    const { desk: items } = JSON.parse(stdout) as { desk: readonly { name: string; state: string; todo: string }[] };
    const stateOf = (name: string) => items.find((item) => item.name === name);
    expect(stateOf('node')).toMatchObject({ state: 'there', todo: '' });
    expect(stateOf('families')).toMatchObject({ state: 'missing', todo: expect.stringContaining('stickwright guide') });
    expect(stateOf('shelf')).toMatchObject({ state: 'missing' });
    expect(items.every(({ state, todo }) => (todo === '') === (state === 'there'))).toBe(true);
  });

  it('finds what is there and cannot be used', () => {
    const wrong = join(places.at(-1) ?? '', 'wrong.yaml');
    writeFileSync(wrong, 'family: [');
    const looked = stickwright(['check-desk'], {
      ...desk,
      STICKWRIGHT_FAMILIES: wrong,
      STICKWRIGHT_BROWSER: '/no/browser',
    });
    expect(looked.exitCode).toBe(1);
    expect(looked.stdout).toMatch(/Families +BROKEN/);
    expect(looked.stdout).toMatch(/Browser +BROKEN/);
  });
});
