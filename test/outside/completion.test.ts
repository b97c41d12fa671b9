import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { afterAll, describe, expect, it, test } from 'vitest';
import { stickwright } from '../fixtures/command.ts';
import { needs } from './needs.ts';

const folder = mkdtempSync(join(tmpdir(), 'stickwright completion-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const scriptFor = (shell: string): string => {
  const path = join(folder, `completion.${shell}`);
  const { exitCode, stdout, stderr } = stickwright(['complete', shell]);
  expect([exitCode, stderr]).toEqual([0, '']);
  writeFileSync(path, stdout);
  return path;
};

const asked = (...words: readonly string[]): readonly string[] =>
  stickwright(['complete', '--', ...words])
    .stdout.split('\n')
    .flatMap((line) => line.split('\t')[0] || []);

describe('completion', () => {
  it('knows commands, their options and the words that options take', () => {
    expect(asked('ver')).toEqual(['verify', ':4']);
    expect(asked('family', 'wi')).toEqual(['widen', ':4']);
    expect(asked('prepare', 'x.zip', '--mode', '')).toEqual(['in-os', 'recovery', ':4']);
    // As PowerShell hands on that nothing was typed yet.
    expect(asked('prepare', 'x.zip', '--mode', '""')).toEqual(['in-os', 'recovery', ':4']);
    expect(asked('prepare', 'x.zip', '--dry')).toEqual(['--dry-run', ':4']);
  });

  it('leaves paths to the shell', () => {
    expect(asked('inspect', 'Down')).toEqual([':0']);
  });

  it('is offered for no other shell', () => {
    expect(stickwright(['complete', 'tcsh']).exitCode).toBe(2);
    expect(stickwright(['complete', 'powershell']).stdout).toContain('Register-ArgumentCompleter');
  });

  /** What bash would offer where the person pressed Tab behind these words. */
  const inBash = (...words: readonly string[]) =>
    spawnSync(
      'bash',
      [
        '-c',
        `_get_comp_words_by_ref() { words=("\${typed[@]}"); cur="\${typed[-1]}"; prev="\${typed[-2]}"; cword=$((\${#typed[@]}-1)); }
         stickwright() { "$NODE" "$BIN" "$@"; }
         compopt() { :; }
         source "$1"; shift
         typed=(stickwright "$@")
         __stickwright_complete
         printf '%s\\n' "\${COMPREPLY[@]}"`,
        'bash',
        scriptFor('bash'),
        ...words,
      ],
      {
        encoding: 'utf8',
        env: { ...process.env, NODE: process.execPath, BIN: resolve('bin/stickwright.js') },
      },
    );

  needs({ bash: 'bash' })('works in bash', () => {
    expect(inBash('ver').stdout.trim()).toBe('verify');
    expect(inBash('prepare', 'x.zip', '--mode', '').stdout.trim().split('\n')).toEqual(['in-os', 'recovery']);
    expect(inBash('label', '"K2-second 75/5B"', '--ag').stdout.trim()).toBe('--again');
  });

  needs({ bash: 'bash' })('runs nothing of what was typed so far', { tags: ['nobody-else'] }, () => {
    const planted = join(folder, 'planted');
    inBash('label', `$(touch "${planted}")`, '`touch planted`', ';', 'touch', planted, '--ag');
    expect(existsSync(planted)).toBe(false);
  });

  for (const shell of ['bash', 'zsh', 'fish'] as const)
    needs({ [shell]: shell })(`is a script that ${shell} reads`, () => {
      const done = spawnSync(shell, ['-n', scriptFor(shell)], { encoding: 'utf8' });
      expect([done.status, done.stderr]).toEqual([0, '']);
    });

  needs({ fish: 'fish' })('works in fish', () => {
    const words =
      'function stickwright; $NODE $BIN $argv; end; source $argv[1]; complete -C "stickwright prepare x.zip --mo"';
    const done = spawnSync('fish', ['-c', words, scriptFor('fish')], {
      encoding: 'utf8',
      env: { ...process.env, NODE: process.execPath, BIN: resolve('bin/stickwright.js') },
    });
    expect(done.stdout.split('\t')[0]?.trim()).toBe('--mode');
  });
});

describe('the manual page', () => {
  test('is made from the help: it has every command and option', () => {
    const { exitCode, stdout } = stickwright(['man'], { SOURCE_DATE_EPOCH: '1790000000' });
    expect(exitCode).toBe(0);
    expect(stdout).toMatch(/^\.TH STICKWRIGHT 1 2026-09-21 "stickwright \d/);
    for (const name of ['prepare', 'shelf add', 'family widen', 'settings set'])
      expect(stdout).toContain(`.SS "stickwright ${name}"`);
    expect(stdout).toContain('\\-\\-dry\\-run');
    expect(stdout).toContain('STICKWRIGHT_PUBLISHED_HASH');
  });

  needs({ groff: 'groff' })('is one that groff sets without a warning', () => {
    const done = spawnSync('groff', ['-man', '-Tutf8', '-ww', '-rLL=78n'], {
      encoding: 'utf8',
      input: stickwright(['man']).stdout,
      maxBuffer: 2 ** 26,
    });
    expect([done.status, done.stderr]).toEqual([0, '']);
    // A terminal of old overstrikes for bold.
    expect(done.stdout.replace(/.\u0008/g, '')).toContain('EXIT STATUS');
  });
});
