import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { makeArchive, panelLabel } from '../fixtures/desk.ts';
import { makeFatImage } from '../fixtures/volumes/scratch.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright words-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const say = (...words: readonly string[]) => {
  const { stderr, stdout, exitCode } = stickwright(words);
  expect([stdout, exitCode]).toEqual(['', 2]);
  return stderr;
};

describe('wrong words', () => {
  it('names all that is missing at once, with what each is and an example', () => {
    const said = say('prepare');
    expect(said).toContain('4 words are missing: <archive>, --mode, --label, --stick.');
    for (const word of ['--mode <mode>: ', '--label <text>: ', '--stick <target>: ', '\n    stickwright prepare reed.'])
      expect(said).toContain(word);
    expect(say('prepare', '--from-shelf', '--mode', 'in-os')).toContain('2 words are missing: --label, --stick.');
    expect(say('prepare', 'x.zip', '--mode', 'in-os', '--image', 'x.img')).toContain('A word is missing: --label.');
    expect(say('verify')).toContain('A word is missing: <target>.');
  });

  it('suggests what a typo was meant to be, and does not claim that it is missing', () => {
    const said = say('prepare', 'x.zip', '--mode', 'in-os', '--lable', 'x', '--stick', 'E:');
    expect(said).toContain('There is no option --lable. Did you mean --label?');
    expect(said).not.toMatch(/missing|words stand/);
    const two = say('prepare', 'x.zip', '--lable', 'x', '--stick', 'E:');
    expect(two.indexOf('--lable')).toBeLessThan(two.indexOf('missing: --mode'));
    expect(say('verfy', 'E:')).toContain('There is no command "verfy". Did you mean verify?');
    expect(say('shelf', 'fnd')).toContain('There is no command "fnd". Did you mean find?');
    expect(say('prepare', 'x.zip', '--mode', 'recvery', '--label', 'x', '--stick', 'E:')).toContain(
      'Did you mean recovery?',
    );
  });

  it('recognises a label without its quotation marks, and shows how each shell takes it', () => {
    const split = ['K2-second', '75/5B'];
    const said = say('prepare', 'x.zip', '--mode', 'in-os', '--label', ...split, '--stick', 'E:');
    expect(said).toContain('has a space and no quotation marks');
    expect(said).toContain('In sh, PowerShell and cmd:\n    --label "K2-second 75/5B"');
    expect(said).not.toMatch(/words stand|missing/);
    expect(say('prepare', '--mode', 'in-os', '--label', ...split, '--stick', 'E:', '--from-shelf')).toContain(
      '--label "K2-second 75/5B"',
    );
    expect(say('verify', 'E:', '--label', ...split)).toContain('--label "K2-second 75/5B"');
    expect(say('label', ...split)).toContain('"K2-second 75/5B"');
    const dollar = say('verify', 'E:', '--label', 'K$2', "75'B");
    expect(dollar).toContain("sh          --label 'K$2 75'\\''B'");
    expect(dollar).toContain("PowerShell  --label 'K$2 75''B'");
    expect(dollar).toContain('cmd         --label "K$2 75\'B"');
  });

  it('refuses what can be given once and was given twice; what may be given several times is taken', () => {
    expect(say('verify', 'E:', '--label', 'a', '--label', 'b')).toContain('--label was given twice: "a", "b".');
    expect(say('verify', 'E:', '--label=a', '--label', 'a')).toContain('--label was given twice');
    const families = ['--family', 'samples/families/sedge.yaml', '--family', 'samples/families/basalt.yaml'];
    expect(stickwright(['label', panelLabel, ...families]).exitCode).toBe(0);
  });

  it('says what belongs behind an option, also where another option stands there', () => {
    expect(say('verify', 'E:', '--label')).toContain('--label lacks what belongs behind it.');
    expect(say('verify', 'E:', '--label', '--quick')).toContain('Write --label <text>: the label');
  });

  it('takes a mode however it is written', async () => {
    const archive = await makeArchive(folder);
    const stick = await makeFatImage(join(folder, 'stick.img'), 64 * 2 ** 20, { kind: 'fat32', partitioned: true });
    for (const [mode, kept] of [
      ['in-OS', 'in-os'],
      ['Recovery', 'recovery'],
      ['IN OS', 'in-os'],
    ] as const) {
      const words = [
        'prepare',
        archive,
        '--mode',
        mode,
        '--label',
        panelLabel,
        '--stick',
        stick,
        '--dry-run',
        '--json',
      ];
      expect(JSON.parse(stickwright(words).stdout)).toMatchObject({ mode: kept });
    }
  });

  it('are one JSON document where --json was given', () => {
    for (const words of [
      ['verify', 'E:', '--fast'],
      ['verfy'],
      ['prepare'],
      ['verify', 'E:', '--mode', 'sideways'],
      ['label'],
    ]) {
      const { stdout, stderr, exitCode } = stickwright([...words, '--json']);
      expect([stderr, exitCode]).toEqual(['', 2]);
      expect(JSON.parse(stdout)).toMatchObject({ verdict: null, exitCode: 2, error: { code: 'usage' } });
    }
  });

  it('reads short forms as commander does', () => {
    expect(stickwright(['prepare', 'x.zip', '-min-os', `-l${panelLabel}`, '-sE:', '-n', '-j']).exitCode).toBe(3);
    expect(say('verify', 'E:', '-l', 'a', '-l', 'b')).toContain('--label was given twice');
    expect(say('prepare', 'x.zip', '-l', 'K2-second', '75/5B', '-m', 'in-os', '-s', 'E:')).toContain(
      '"K2-second 75/5B"',
    );
  });

  it('ends options at --', () => {
    expect(stickwright(['label', '--', '--no-label']).exitCode).toBe(1);
  });
});

describe('explain', () => {
  it('takes an area, a code as it is copied from a screen, and the code of an error', () => {
    const area = stickwright(['explain', 'stick']).stdout;
    expect(area).toContain('\n  stick/dirty\n');
    expect(area).toContain('\n  stick/gone\n');
    expect(area).not.toContain('archive/');
    expect(stickwright(['explain', '[stick/dirty].']).stdout).toContain('stick/dirty');
    expect(stickwright(['explain', 'stick/gone']).stdout).toContain('is there no more');
  });

  it('suggests what was meant', () => {
    expect(say('explain', 'stick/drity')).toContain('Did you mean stick/dirty?');
    expect(say('explain', 'dirty')).toContain('Did you mean stick/dirty?');
    expect(say('explain', 'stik')).toContain('Did you mean stick');
    expect(
      say(
        'prepare',
        'x.zip',
        '--mode',
        'in-os',
        '--label',
        'x',
        '--stick',
        'E:',
        '--yes',
        '--accept',
        'stick/drty',
        '--because',
        'seen twice',
      ),
    ).toContain('Did you mean stick/dirty');
  });
});
