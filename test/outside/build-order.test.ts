import { spawnSync } from 'node:child_process';
import fc from 'fast-check';
import { describe, expect } from 'vitest';
import { compareBuilds } from '../../src/core/build/compare-builds.ts';
import { readBuild } from '../../src/core/build/read-build.ts';
import { needs } from './needs.ts';

function run(program: string, args: readonly string[], input: string): string {
  const { status, stdout, stderr } = spawnSync(program, args, {
    input,
    encoding: 'utf8',
    env: { ...process.env, LC_ALL: 'C' },
  });
  if (status !== 0) throw new Error(`${program}: ${stderr}`);
  return stdout;
}

const sample = <Value>(arbitrary: fc.Arbitrary<Value>, count: number): Value[] =>
  fc.sample(arbitrary, { numRuns: count, seed: 7 });

const python = `
import sys
from datetime import datetime
forms = {8: '%Y%m%d', 12: '%Y%m%d%H%M'}
for line in sys.stdin.read().split():
    try:
        print(datetime.strptime(line, forms[len(line)]).strftime('%Y-%m-%d'))
    except ValueError:
        print('no')
`;

describe('builds against programs that nobody here wrote', () => {
  needs({ python3: 'python3' })("dates exist exactly where Python's datetime knows them", () => {
    const digits = (length: number) =>
      fc.stringMatching(new RegExp(`^(19[7-9]|20[0-9])[0-9][0-3][0-9][0-4][0-9][0-9]{${length}}$`));
    // Every day number of two leap and two common years, and random digits around the limits of months, days and hours.
    const every = ['2000', '2023', '2024', '2099'].flatMap((year) =>
      Array.from({ length: 1_400 }, (_, index) => `${year}${String(index).padStart(4, '0')}`),
    );
    const texts = [...every, ...sample(digits(0), 2_000), ...sample(digits(4), 2_000)];
    const expected = run('python3', ['-c', python], texts.join('\n')).trim().split('\n');
    const ours = texts.map((text) => {
      const { build } = readBuild(text, { scheme: 'date' });
      return build?.scheme === 'date' ? build.readings[0]?.slice(0, 10) : 'no';
    });
    expect(expected.filter((line) => line !== 'no').length).toBeGreaterThan(1_000);
    expect(ours).toEqual(expected);
  });

  needs({ sort: 'coreutils' })('dotted versions are in the order of GNU sort -V', () => {
    const dotted = fc
      .array(fc.integer({ min: 0, max: 120 }), { minLength: 3, maxLength: 3 })
      .map((numbers) => numbers.join('.'));
    const texts = [...new Set(sample(dotted, 600))];
    const expected = run('sort', ['-V'], `${texts.join('\n')}\n`)
      .trim()
      .split('\n');
    const ours = texts.toSorted((a, b) => {
      const [first, second] = [a, b].map((text) => readBuild(text, { scheme: 'version' }).build);
      if (first === undefined || second === undefined) throw new Error('unread');
      return { newer: 1, older: -1, same: 0, 'cannot-order': Number.NaN }[compareBuilds(first, second)];
    });
    expect(ours).toEqual(expected);
  });
});
