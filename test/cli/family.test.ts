import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { familyExamples as examples } from '../fixtures/desk.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright families-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('families, as a shell sees them', () => {
  it('makes a file from examples that then reads other labels of the fleet', () => {
    const from = join(folder, 'examples.yaml');
    const to = join(folder, 'families');
    writeFileSync(from, examples);
    const shown = stickwright(['family', 'new', '--from', from, '--to', to, '--dry-run']);
    expect(shown.exitCode).toBe(0);
    expect(shown.stdout).toContain('110:QD  →  size 110, series QD, factory standard');
    expect(readdirSync(folder)).toEqual(['examples.yaml']);
    expect(stickwright(['family', 'new', '--from', from, '--to', to]).exitCode).toBe(2);
    expect(stickwright(['family', 'new', '--from', from, '--to', to, '--yes']).exitCode).toBe(0);
    expect(readdirSync(to)).toEqual(['family.schema.json', 'quartz.yaml']);
    expect(readFileSync(join(to, 'family.schema.json'), 'utf8')).toBe(
      readFileSync('samples/families/family.schema.json', 'utf8'),
    );
    expect(stickwright(['family', 'check', to]).exitCode).toBe(0);
    expect(stickwright(['label', '86:QE by R9', '--family', to]).stdout).toContain('factory R9');
    expect(stickwright(['family', 'new', '--from', from, '--to', to, '--yes']).exitCode).toBe(3);
  });

  it('checks every file of a folder, with line and column, and what two do to each other', () => {
    expect(stickwright(['family', 'check', 'samples/families']).exitCode).toBe(0);
    const twin = join(folder, 'twin.yaml');
    const sedge = readFileSync('samples/families/sedge.yaml', 'utf8');
    writeFileSync(twin, sedge.replace('family: sedge', 'family: twin'));
    const two = stickwright(['family', 'check', 'samples/families', twin]);
    expect(two.exitCode).toBe(1);
    expect(two.stdout).toContain('[family/two-read-label]');
    expect(two.stdout).toContain('[family/two-claim-package]');
    writeFileSync(twin, sedge.replace('scheme: counter', 'scheme: counters'));
    const line = sedge.split('\n').findIndex((one) => one.includes('scheme: counter')) + 1;
    const wrong = stickwright(['family', 'check', twin]);
    expect(wrong.exitCode).toBe(1);
    expect(wrong.stdout.replace(/\n */g, '')).toMatch(new RegExp(`twin\\.yaml:${line}:\\d+`));
  });

  it('lists and shows them', () => {
    expect(
      stickwright(['family', 'list'])
        .stdout.split('\n')
        .map((line) => line.trim().split(' ')[0]),
    ).toEqual(['basalt', 'lantern', 'sedge', '']);
    expect(stickwright(['family', 'show', 'lantern']).stdout).toContain('WIPES THE PANEL');
    expect(stickwright(['family', 'show', 'marble']).exitCode).toBe(2);
    const { families } = JSON.parse(stickwright(['family', 'show', 'sedge', '--json']).stdout);
    expect(families).toMatchObject([{ source: expect.stringContaining('sedge.yaml'), content: { family: 'sedge' } }]);
  });

  it('says what is wrong with examples', () => {
    const path = join(folder, 'wrong.yaml');
    writeFileSync(path, examples.replace('size: "75"', 'size: "76"'));
    const refused = stickwright(['family', 'new', '--from', path, '--dry-run']);
    expect([refused.exitCode, refused.stderr]).toEqual([2, expect.stringContaining('75:QB by R2')]);
    writeFileSync(path, examples.replace('"75"', '75'));
    expect(stickwright(['family', 'new', '--from', path, '--dry-run']).exitCode).toBe(3);
    expect(stickwright(['family', 'new']).exitCode).toBe(2);
  });

  it('prints an example that can be read again by itself', () => {
    const { stderr } = stickwright(['family', 'new']);
    const shown = stderr.slice(stderr.indexOf('family: quartz'));
    // As it is copied from the screen, with the margin that it stands in.
    const margin = /^ */.exec(stderr.split('\n').find((line) => line.includes('family: quartz')) ?? '')?.[0] ?? '';
    const path = join(folder, 'copied.yaml');
    writeFileSync(path, `${margin}${shown}`);
    const again = stickwright(['family', 'new', '--from', path, '--dry-run']);
    expect([again.stderr, again.exitCode]).toEqual(['', 0]);
  });

  it('names the example that does not follow the others', () => {
    const path = join(folder, 'odd.yaml');
    writeFileSync(path, examples.replace('text: "110:QD"', 'text: "QD:110"'));
    const { stderr } = stickwright(['family', 'new', '--from', path, '--dry-run']);
    expect(stderr.replace(/\s+/g, ' ')).toContain('the parts of "QD:110" do not stand in the same order');
  });
});

describe('a family file that is there', () => {
  const copyOf = (name: string): string => {
    const path = join(folder, `${name}-${++count}.yaml`);
    writeFileSync(path, readFileSync(`samples/families/${name}.yaml`));
    return path;
  };
  let count = 0;

  it('of a colleague is checked and taken in, and never written over', () => {
    const to = join(folder, 'taken in');
    const add = (path: string, ...more: readonly string[]) => stickwright(['family', 'add', path, '--to', to, ...more]);
    expect(add('samples/families/sedge.yaml').exitCode).toBe(2);
    expect(add('samples/families/sedge.yaml', '--dry-run').exitCode).toBe(0);
    expect(add('samples/families/sedge.yaml', '--yes').exitCode).toBe(0);
    expect(readFileSync(join(to, 'sedge.yaml'), 'utf8')).toBe(readFileSync('samples/families/sedge.yaml', 'utf8'));
    expect(add('samples/families/sedge.yaml', '--yes').exitCode).toBe(3);
    const twin = copyOf('sedge');
    writeFileSync(twin, readFileSync(twin, 'utf8').replace('family: sedge', 'family: twin'));
    const refused = add(twin, '--yes');
    expect([refused.exitCode, refused.stdout]).toEqual([1, expect.stringContaining('family/two-read-label')]);
    expect(readdirSync(to)).toEqual(['family.schema.json', 'sedge.yaml']);
  });

  it('is widened by a label that has a digit more, in its one line; comments and examples stay', () => {
    const path = copyOf('sedge');
    const label = 'K12-second 75/5B';
    const before = readFileSync(path, 'utf8');
    const widen = (...more: readonly string[]) => stickwright(['family', 'widen', label, '--family', path, ...more]);
    expect(stickwright(['label', label, '--family', path]).stdout).toContain('[label/digits-differ]');
    const dry = widen('--dry-run');
    expect([dry.exitCode, readFileSync(path, 'utf8')]).toEqual([0, before]);
    expect(dry.stdout).toContain('the factory has 2 digits, where the file takes 1');
    expect(widen('--yes').exitCode).toBe(0);
    const changed = readFileSync(path, 'utf8').split('\n');
    const differing = before.split('\n').flatMap((line, at) => (line === changed[at] ? [] : [at]));
    expect(differing).toHaveLength(1);
    expect(changed[differing[0] ?? 0]).toContain('HOME|K\\d{1,2}');
    expect(stickwright(['label', label, '--family', path]).exitCode).toBe(0);
    expect(widen('--yes').exitCode).toBe(2);
    expect(stickwright(['family', 'widen', 'K2-fifth 75/5B', '--family', path, '--yes']).exitCode).toBe(2);
  });

  it('is not widened into what another family reads', () => {
    const path = copyOf('sedge');
    const other = copyOf('sedge');
    const text = readFileSync(other, 'utf8').replace('family: sedge', 'family: other').replaceAll('reed', 'rush');
    writeFileSync(
      other,
      text
        .replace('HOME|K\\d)-', 'K\\d\\d)-')
        .replace(/- \{ text: "(K2|home)[^\n]*\n/g, '')
        .replace('  examples:\n', '  examples:\n    - { text: "K12-second 75/5B", factory: K12 }\n'),
    );
    const both = ['--family', path, '--family', other];
    expect(stickwright(['label', 'K12-second 75/5B', ...both]).exitCode).toBe(0);
    const refused = stickwright(['family', 'widen', 'K12-second 75/5B', ...both, '--yes']);
    expect([refused.exitCode, refused.stdout]).toEqual([1, expect.stringContaining('family/two-read-label')]);
  });

  it('is confirmed by a pair from elsewhere, and by nothing else', () => {
    const from = join(folder, 'table.yaml');
    const to = join(folder, 'of the table');
    writeFileSync(from, examples);
    expect(stickwright(['family', 'new', '--from', from, '--to', to, '--yes']).exitCode).toBe(0);
    const confirm = (label: string, name: string) =>
      stickwright([
        'family',
        'confirm',
        'quartz',
        '--label',
        label,
        '--package',
        name,
        '--from',
        'room 2.14 took it',
        '--family',
        to,
        '--yes',
      ]);
    expect(confirm('75:QB by R2', 'quartz_qb_r2_20240117.zip').exitCode).toBe(2);
    const noted = confirm('86:QE by R9', 'quartz_qe_r9_20240301.zip');
    expect([noted.stderr, noted.exitCode]).toEqual(['', 0]);
    expect(readFileSync(join(to, 'quartz.yaml'), 'utf8')).toContain("from: 'room 2.14 took it'");
    expect(stickwright(['family', 'check', to]).exitCode).toBe(0);
  });

  it('is proposed from the names of packages that lie in a folder', () => {
    const downloads = join(folder, 'downloads');
    mkdirSync(downloads);
    for (const name of ['quartz_qb_r2_20240117.zip', 'quartz_qd_r1_20231204.zip', 'reed.746_5B_second_K2.zip', 'x.txt'])
      writeFileSync(join(downloads, name), '');
    const { exitCode, stdout } = stickwright(['family', 'from', downloads]);
    expect(exitCode).toBe(0);
    expect(stdout).toContain('2 packages of one kind; what varies: part2, part3');
    expect(stdout).toContain('build: "20240117"');
    expect(stdout).not.toContain('reed');
    // With its labels filled in it is what family new reads.
    const filled = stdout
      .slice(stdout.indexOf('family:'), stdout.indexOf('\nSave'))
      .replace('"LABEL"', '"QB by R2"')
      .replace('"…"', '"QB"')
      .replace('"…"', '"R2"');
    writeFileSync(join(folder, 'filled.yaml'), filled);
    expect(stickwright(['family', 'new', '--from', join(folder, 'filled.yaml'), '--dry-run']).stderr).toBe('');
  });
});
