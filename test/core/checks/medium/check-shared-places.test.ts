import { describe, expect, it, test } from 'vitest';
import {
  checkMediumBeside,
  checkMediumToWrite,
  withoutRewritten,
} from '../../../../src/core/checks/medium/check-medium.ts';
import { finding } from '../../../../src/core/findings/finding.ts';
import { cutClassOf } from '../../../../src/core/manifest/stick-names.ts';
import type { Mode } from '../../../../src/core/model/mode.ts';
import type { StickFacts } from '../../../../src/core/model/stick-facts.ts';
import type { Flaw, MediumFacts, SharedPlace } from '../../../../src/core/volume-format/audit/flaw.ts';

const medium = (...flaws: readonly Flaw[]) =>
  ({ flaws: [], volumes: [{ flaws, partition: 1 }] }) as unknown as MediumFacts;
const pair = (first: string, second: string, alike: boolean): SharedPlace => ({ first, second, alike });
const linked = (pairs: readonly SharedPlace[], count = pairs.length): Flaw => ({
  kind: 'cross-linked',
  detail: { count, paths: pairs.length === 0 ? ['/x'] : pairs.map(({ second }) => second), pairs },
});
const aside = '/set-aside-20261102T073000Z';

describe('two names for one place, before and after a preparation', { tags: ['nobodys-files-vanish'] }, () => {
  const ask = (flaws: readonly Flaw[], kind: 'image' | 'folder' = 'image', mode: Mode = 'recovery') =>
    checkMediumToWrite(medium(...flaws), mode, { target: 'E:', kind } as StickFacts).map(({ code, facts }) => [
      code,
      facts,
    ]);
  const shared = (pairs: readonly SharedPlace[], whose: string, count = pairs.length) => [
    ['medium/place-shared', { count, pairs, whose }],
  ];
  const [mine, yours] = [pair('/me.jpg', '/you.jpg', false), pair('/me.jpg', '/copy.jpg', true)];

  test.each<readonly [string, readonly Flaw[], 'image' | 'folder', readonly unknown[]]>([
    ['of two people’s files', [linked([mine])], 'image', shared([mine], 'several-files')],
    ['of one file', [linked([yours])], 'image', shared([yours], 'one-file')],
    ['of both kinds', [linked([mine, yours])], 'image', shared([mine, yours], 'several-files')],
    ['and some that are not named', [linked([yours], 3)], 'image', shared([yours], 'several-files', 3)],
    ['and as many that are not named', [linked([yours], 2)], 'image', shared([yours], 'several-files', 2)],
    ['none of which is named', [linked([], 2)], 'image', shared([], 'several-files', 2)],
    ['of what a preparation staged', [linked([pair('/SW-PART.TMP/a', '/a', false)])], 'image', []],
    ['of what it was moving aside', [linked([pair('/old.zip', `${aside}/old.zip`, true)])], 'image', []],
    [
      'of what lies aside, and is another file',
      [linked([pair('/old.zip', `${aside}/x.zip`, false)])],
      'image',
      shared([pair('/old.zip', `${aside}/x.zip`, false)], 'several-files'),
    ],
    [
      'of what it staged, where a driver stands between',
      [linked([pair('/SW-PART.TMP/a', '/a', false)])],
      'folder',
      shared([pair('/SW-PART.TMP/a', '/a', false)], 'several-files'),
    ],
    [
      'of its own record alone, where a driver stands between',
      [linked([pair('/SW-DONE.TMP/seal.json', '/stickwright/seal.json', false)])],
      'folder',
      shared([pair('/SW-DONE.TMP/seal.json', '/stickwright/seal.json', false)], 'one-file'),
    ],
    [
      'and nothing else is told of it',
      [linked([mine]), { kind: 'dirty', detail: {} }],
      'image',
      shared([mine], 'several-files'),
    ],
    [
      'beside what a repair would mend',
      [linked([mine]), { kind: 'chain-loops', detail: { count: 1, paths: ['/x'] } }],
      'image',
      [['stick/needs-repair', { codes: ['medium/chain-loops'] }], ...shared([mine], 'several-files')],
    ],
  ])('%s', (_, flaws, kind, expected) => {
    expect(ask(flaws, kind)).toEqual(expected);
  });

  it('are for a repair where nothing is written', () => {
    const found = checkMediumBeside(medium(linked([mine])), { target: 'E:', mode: 'recovery' });
    expect(found.map(({ code, facts }) => [code, facts])).toEqual([
      ['stick/needs-repair', { codes: ['medium/cross-linked'] }],
    ]);
  });
});

it('what is wrong with the medium around the volumes is told by what reads it', () => {
  const facts = {
    flaws: [{ kind: 'gpt-leftover', detail: { where: 'start' } }],
    volumes: [],
  } as unknown as MediumFacts;
  const told = (mode: Mode) =>
    checkMediumBeside(facts, { target: 'E:', mode }).map(({ code, subject }) => [code, subject]);
  expect(told('recovery')).toEqual([['medium/gpt-leftover', 'E:']]);
  expect(told('in-os')).toEqual([['medium/gpt-leftover-for-os', 'E:']]);
});

it('what lies behind the end of a folder of our own work goes with it; of any other, or unnamed, it is told', () => {
  const behind = (count: number, ...paths: readonly string[]) =>
    withoutRewritten([finding('medium/names-after-end', 'E:', { count, paths })], false).length;
  expect(behind(1, '/SW-PART.TMP')).toBe(0);
  expect(behind(2, '/SW-PART.TMP/images', '/SW-PART.TMP')).toBe(0);
  expect(behind(2, '/SW-PART.TMP')).toBe(1);
  expect(behind(2, '/SW-PART.TMP', '/letters')).toBe(1);
});

it.each([
  ['SW-PART.TMP', 'work'],
  ['sw-part.tmp/images/a.img', 'work'],
  ['SW-DONE.TMP/MANIFEST.NEW', 'work'],
  ['STICKWRIGHT-PROOF/1', 'work'],
  ['stickwright/manifest.old', 'work'],
  ['SW-PART.TMPX/a', 'other'],
  ['x/SW-PART.TMP', 'other'],
  ['stickwright/manifest.json', 'other'],
  ['set-aside-20261102T073000Z/a', 'copy'],
  ['SET-ASIDE-20261102T073000Z-2/a', 'copy'],
  ['set-aside-by-hand/a', 'other'],
  ['my-SET-ASIDE-20261102T073000Z/a', 'other'],
])('a cut can leave %s as %s of a preparation', (path, expected) => {
  expect(cutClassOf(path)).toBe(expected);
});
