import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
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
});
