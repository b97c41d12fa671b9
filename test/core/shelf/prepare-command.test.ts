import { spawnSync } from 'node:child_process';
import { describe, expect, it } from 'vitest';
import { prepareCommand } from '../../../src/core/shelf/find-on-shelf.ts';
import { quoteWord } from '../../../src/core/text/words.ts';
import { needs } from '../../outside/needs.ts';

const words = [
  'K2-second 75/5B',
  '86 in 24P.M3',
  'a "b"',
  '$HOME `x` !',
  "it's",
  'C:\\Shelf ü\\a',
  'C:\\Shelf ü\\',
  '',
  '--x=y z',
  '%PATH%',
];

describe('the command that find prints', () => {
  needs({ bash: 'bash' })('is read by a shell word for word (POSIX.1-2017, Shell Command Language 2.2)', () => {
    const command = `printf '%s\\0' ${words.map(quoteWord).join(' ')}`;
    const { stdout } = spawnSync('bash', ['--norc', '-c', command], { encoding: 'utf8' });
    expect(stdout.split('\0').slice(0, -1)).toEqual(words);
  });

  needs({ bash: 'bash' })('has nothing run that stands in a word, whatever a list or a plate holds', () => {
    const command = `printf '%s' ${quoteWord("it's $(echo run) `echo run`")}`;
    const { stdout } = spawnSync('bash', ['--norc', '-c', command], { encoding: 'utf8' });
    expect(stdout).toBe('its $(echo run) `echo run`');
  });

  needs({ bash: 'bash' })('repeats what the person gave', () => {
    const options = ['--shelf', '/srv/shared shelf'];
    const command = prepareCommand({ label: 'VX+075+EU Rev C', running: 'v2.4.0_20220301', options });
    const { stdout } = spawnSync('bash', ['--norc', '-c', command.replace(/^stickwright/, "printf '%s\\n'")], {
      encoding: 'utf8',
    });
    expect(stdout.trimEnd().split('\n')).toEqual([
      ...['prepare', '--from-shelf', '--mode', 'in-os', '--label', 'VX+075+EU Rev C'],
      ...['--running', 'v2.4.0_20220301', '--shelf', '/srv/shared shelf', '--stick', 'STICK'],
    ]);
    expect(prepareCommand({ label: 'C2', running: undefined, options: [] })).toBe(
      'stickwright prepare --from-shelf --mode in-os --label C2 --stick STICK',
    );
  });

  it('takes double quotes where they change nothing: cmd knows no others', () => {
    expect(words.map(quoteWord).filter((word) => word.startsWith("'"))).toEqual([`'a "b"'`, "'$HOME `x` !'"]);
  });
});
