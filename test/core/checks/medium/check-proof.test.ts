import { expect, it, test } from 'vitest';
import { checkMedium, checkMediumBeside, withoutRewritten } from '../../../../src/core/checks/medium/check-medium.ts';
import { checkProof, type ProofFacts } from '../../../../src/core/checks/medium/check-proof.ts';
import type { Finding } from '../../../../src/core/findings/finding.ts';
import { type Mode, modes } from '../../../../src/core/model/mode.ts';
import { type Flaw, flaw, type MediumFacts } from '../../../../src/core/volume-format/audit/flaw.ts';

const told = (findings: readonly Finding[]) => findings.map(({ code, facts }) => [code, facts]);

const proof: ProofFacts = {
  how: 'whole',
  statedBytes: 100,
  writtenBytes: 100,
  testedBytes: 100,
  finished: true,
  readBack: 'medium',
  wraps: undefined,
  endsAt: undefined,
  bad: undefined,
  unstable: undefined,
  sample: undefined,
  writeBytesPerSecond: undefined,
  readBytesPerSecond: undefined,
};
const half = { finished: false, writtenBytes: 60, testedBytes: 50 };
const unfinished = ['medium/proof-unfinished', { writtenBytes: 60, testedBytes: 50, ofBytes: 100 }];
const wraps = ['medium/capacity-false', { statedBytes: 100, trueBytes: 30, how: 'wraps' }];
const ends = ['medium/capacity-false', { statedBytes: 100, trueBytes: 30, how: 'drops' }];
const bad = { areas: 1, bytes: 2, firstByte: 3 };
const unstable = { areas: 1, firstByte: 3 };
const sample = { areas: 9, areaBytes: 1, missShare: 0.1, cutBytes: 1 };

test.each<readonly [string, Partial<ProofFacts>, readonly unknown[]]>([
  ['nothing, where all came back from the medium', {}, []],
  ['that it wraps', { wraps: { trueBytes: 30 } }, [wraps]],
  ['that it ends early, and nothing of what is bad behind that', { endsAt: 30, bad }, [ends]],
  ['that areas are bad', { bad }, [['medium/areas-bad', bad]]],
  ['that areas do not hold', { unstable }, [['medium/areas-unstable', unstable]]],
  ['that it was not finished', half, [unfinished]],
  [
    'a fault, however much was not looked at',
    { ...half, wraps: { trueBytes: 30 }, readBack: 'cache', sample },
    [wraps, unfinished],
  ],
  ['that only samples were taken', { how: 'sample', sample }, [['medium/proved-by-sample', sample]]],
  ['of samples that were cut off only that', { ...half, how: 'sample', sample }, [unfinished]],
  [
    'that only free space was looked at',
    { how: 'free-space', testedBytes: 40 },
    [['medium/proved-in-part', { bytes: 40, ofBytes: 100 }]],
  ],
  ['of free space that was cut off only that', { ...half, how: 'free-space' }, [unfinished]],
  ['that it came out of the memory', { readBack: 'cache' }, [['medium/proved-through-cache', {}]]],
  ['nothing of a memory out of which nothing came', { readBack: 'cache', testedBytes: 0 }, []],
])('a proof shows %s', (_, more, expected) => {
  expect(told(checkProof('E:', { ...proof, ...more }))).toEqual(expected);
});

const medium = (...volumes: readonly (readonly Flaw[])[]): MediumFacts =>
  ({ flaws: [], volumes: volumes.map((flaws, at) => ({ flaws, partition: at + 1 })) }) as unknown as MediumFacts;
const ask = (facts: MediumFacts, mode: Mode = 'recovery') => checkMedium(facts, { target: 'E:', mode });
const atBoot = flaw('gpt-leftover', { where: 'end' });

it('a medium with one volume is named by itself, one with several by their places', () => {
  expect(ask(medium([flaw('boot-jump-missing')])).map(({ subject }) => subject)).toEqual(['E:']);
  expect(ask(medium([flaw('boot-jump-missing')], [flaw('boot-jump-missing')])).map(({ subject }) => subject)).toEqual([
    'E:, partition 1',
    'E:, partition 2',
  ]);
});

test.each<readonly [Flaw, string, string | undefined]>([
  [atBoot, 'medium/gpt-leftover', 'medium/gpt-leftover-for-os'],
  [
    flaw('type-text-missing', { text: 'x', at: 1, wanted: 'FAT' }),
    'medium/type-text-missing',
    'medium/type-text-missing-for-os',
  ],
  [flaw('extended-partition', { entry: 1 }), 'medium/extended-partition', 'medium/extended-partition-for-os'],
  [
    flaw('partition-type-not-mounted', { entry: 1, type: 2 }),
    'medium/partition-type-not-mounted-at-boot',
    'medium/partition-type-not-mounted',
  ],
  [flaw('stale-slots', { count: 1, paths: ['/x'] }), 'medium/stale-slots', undefined],
  [flaw('dirty'), 'stick/dirty', 'stick/dirty'],
])('%o weighs more where a boot loader reads', (found, boot, os) => {
  const said = Object.fromEntries(modes.map((mode) => [mode, ask(medium([found]), mode).map(({ code }) => code)]));
  expect(said).toEqual({ recovery: [boot], 'in-os': os === undefined ? [] : [os] });
  expect(ask(medium([found]))[0]?.facts).toEqual(found.detail);
});

it('beside a preparation all that a cut leaves is one thing to repair, and the mark is said by others', () => {
  const flaws = [
    flaw('dirty'),
    flaw('chain-short', { count: 1, paths: ['/x'] }),
    flaw('bad-clusters', { count: 1 }),
    flaw('chain-short', { count: 1, paths: ['/y'] }),
    flaw('fat-copies-differ', { entries: 1 }),
  ];
  expect(told(checkMediumBeside(medium(flaws), { target: 'E:', mode: 'recovery' }))).toEqual([
    ['medium/bad-clusters', { count: 1 }],
    ['stick/needs-repair', { codes: ['medium/chain-short', 'medium/fat-copies-differ'] }],
  ]);
  expect(
    told(checkMediumBeside(medium([flaw('bad-clusters', { count: 1 })]), { target: 'E:', mode: 'recovery' })),
  ).toEqual([['medium/bad-clusters', { count: 1 }]]);
});

it('what a preparation makes anew is not spoken of before it has begun', () => {
  const names = (...paths: readonly string[]) => ({ count: paths.length, paths });
  const findings = ask(
    medium([
      flaw('way-damaged', names('/boot.pkg')),
      flaw('way-slot-odd', names('/images')),
      flaw('names-after-end', names('/SW-PART.TMP/x', '/SW-PART.TMP')),
      flaw('names-after-end', names('/SW-PART.TMP/x', '/letters/y')),
      flaw('names-after-end', { count: 2, paths: ['/SW-PART.TMP/x'] }),
      flaw('bad-clusters', { count: 1 }),
    ]),
  );
  const left = (stands: boolean) => withoutRewritten(findings, stands).map(({ code }) => code.slice('medium/'.length));
  expect(left(false)).toEqual(['names-after-end', 'names-after-end', 'bad-clusters']);
  expect(left(true)).toEqual(['way-slot-odd', 'names-after-end', 'names-after-end', 'bad-clusters']);
});
