import { describe, expect, it } from 'vitest';
import { severityOf, textsOf, verdictOf } from '../../../src/core/findings/finding.ts';
import { findOnShelf, type ShelfQuestion } from '../../../src/core/shelf/find-on-shelf.ts';
import { withoutDoubles } from '../../../src/core/shelf/index-shelf.ts';
import { shelve } from '../../fixtures/shelf/shelved.ts';
import { sampleFamilies } from '../label/families.ts';

// The rules are common practice, no source: exactly the label, the newest by the family's scheme, never a guess.
const families = await sampleFamilies();

/** Twelve invented packages of three families. */
const packages = [
  'reed.746_5B_second_K2.zip',
  'reed.608_5B_second_K2.zip',
  'reed.746_5B_second_home.zip',
  'reed.790_5B_first_K2.zip',
  'reed.702_8S_third_home.zip',
  'lantern-vx-eu-revc-v3.10.2_20240305.zip',
  'lantern-vx-eu-revc-v3.9.0_20240105.zip',
  'lantern-vx-eu-revc-v3.6.0_20230822.zip',
  'lantern-vx-eu-revc-v3.0.0_20230110.zip',
  'lantern-vx-eu-v3.10.2_20240305.zip',
  'basalt_86_24p_m3_r1047.zip',
  'basalt_86_24p_m3_r982.zip',
].map((name) => shelve(name, families));

function ask(label: string, running?: string, wish: Partial<ShelfQuestion> = {}) {
  const answer = findOnShelf({ label, running, families, packages, damaged: [], ...wish });
  const codes = answer.findings.map(({ code }) => code);
  return { answer, codes, chosen: answer.chosen?.record.name, verdict: verdictOf(answer.findings) };
}

describe('where nobody says what the panel runs', () => {
  it('every bridge is named that may be due, also one that cannot be ordered against the package', () => {
    const bridges = ['v3.0.0_20230110', 'v3.12.0_20240101', 'v3.12.0_20240601'].map((first) => ({
      'running-before': first,
      first,
      for: {},
      because: 'the storage layout changed',
    }));
    const bridged = families.map((family) => (family.family === 'lantern' ? { ...family, bridges } : family));
    const { answer } = ask('VX+075+EU Rev C', undefined, { families: bridged });
    expect(answer.chosen?.record.name).toBe('lantern-vx-eu-revc-v3.10.2_20240305.zip');
    // The second has the higher version and the earlier day; the third is newer than the package, and no bridge to it.
    expect(answer.findings.filter(({ code }) => code === 'shelf/running-unknown')).toMatchObject([
      { facts: { bridges: [{ build: 'v3.0.0_20230110' }, { build: 'v3.12.0_20240101' }] } },
    ]);
  });
});

it('a shelf is listed by family and name, with its numbers as numbers', () => {
  const names = [
    'strange.zip',
    'reed.1717_5B_second_K2.zip',
    'reed.746_5B_second_K2.zip',
    'reed.0746_5B_second_K2.zip',
  ];
  const shelved = [...names, 'basalt_86_24p_m3_r1047.zip', 'basalt_86_24p_m3_r982.zip'];
  expect(withoutDoubles(shelved.map((name) => shelve(name, families))).map(({ record }) => record.name)).toEqual([
    'basalt_86_24p_m3_r982.zip',
    'basalt_86_24p_m3_r1047.zip',
    'reed.0746_5B_second_K2.zip',
    'reed.746_5B_second_K2.zip',
    'reed.1717_5B_second_K2.zip',
    'strange.zip',
  ]);
});

describe('the newest package for exactly this label', () => {
  it('with a factory code, and without: the standard unit gets the standard package', () => {
    const { answer, chosen } = ask('K2-second 75/5B', 'reed.638');
    expect(chosen).toBe('reed.746_5B_second_K2.zip');
    expect(answer.fitting.map(({ record }) => record.name)).toEqual([chosen, 'reed.608_5B_second_K2.zip']);
    expect(answer.steps).toEqual([{ build: 'reed.746', because: undefined, shelved: answer.chosen }]);
    expect(answer.findings.find(({ code }) => code === 'shelf/newest')).toMatchObject({
      subject: chosen,
      facts: { build: 'reed.746', fitting: 2, label: 'K2-second 75/5B' },
    });
    expect(ask('home-second 75/5B', 'reed.638').chosen).toBe('reed.746_5B_second_home.zip');
  });

  it('by number, not by letter: 3.10 is newer than 3.9 and r1047 than r982', () => {
    expect(ask('VX+075+EU Rev C', 'v3.9.0_20240105').chosen).toBe('lantern-vx-eu-revc-v3.10.2_20240305.zip');
    expect(ask('86 in 24P.M3', '982').chosen).toBe('basalt_86_24p_m3_r1047.zip');
  });

  it('and none for a misread label, whatever it looks like', () => {
    const { answer, codes, verdict } = ask('KZ-second 75/5B');
    expect(answer.fitting).toEqual([]);
    expect(answer.chosen).toBeUndefined();
    expect(codes).toContain('label/possible-misread');
    expect(verdict).toBe('not-ready');
  });

  it('and none where the shelf has only neighbours; the part that does not fit is named, fewest first', () => {
    const strange = { packages: [...packages, shelve('strange.zip', families)] };
    const { answer, codes } = ask('K3-second 75/5B', undefined, strange);
    expect(answer.findings.find(({ code }) => code === 'shelf/none-fits')?.facts).toMatchObject({
      ...{ label: 'K3-second 75/5B', ofFamily: 5, total: 13 },
    });
    expect(codes).toContain('shelf/none-fits');
    expect(answer.nearMisses.map(({ shelved, parts }) => [shelved.record.name, parts.map(({ part }) => part)])).toEqual(
      [
        ['reed.746_5B_second_K2.zip', ['factory']],
        ['reed.608_5B_second_K2.zip', ['factory']],
        ['reed.746_5B_second_home.zip', ['factory']],
        ['reed.790_5B_first_K2.zip', ['generation', 'factory']],
        ['reed.702_8S_third_home.zip', ['series', 'generation', 'factory']],
      ],
    );
    const [first] = answer.nearMisses[0]?.parts ?? [];
    expect(first).toMatchObject({ label: 'K3', other: 'K2', relation: 'differs' });
  });

  it('chooses neither of two packages of one build', () => {
    const { answer, codes } = ask('home-second 75/5B', 'reed.638', {
      packages: [...packages, shelve('reed.746_5b_second_home.zip', families)],
    });
    expect(codes).toContain('shelf/newest-unclear');
    expect(answer.chosen).toBeUndefined();
    expect(answer.steps).toEqual([]);
    expect(answer.findings.find(({ code }) => code === 'shelf/newest-unclear')?.facts).toEqual({
      label: 'home-second 75/5B',
      names: ['reed.746_5B_second_home.zip', 'reed.746_5b_second_home.zip'],
    });
  });

  it('chooses none for a label that two families read', () => {
    const two = families.flatMap((family) => [family, { ...family, family: `${family.family}2` }]);
    const { answer, codes } = ask('K2-second 75/5B', 'reed.638', { families: two });
    expect(codes).toEqual(['label/read-by-two-families']);
    expect(answer).toMatchObject({ chosen: undefined, newest: undefined, steps: [], fitting: [], nearMisses: [] });
  });

  it('says so where the one that fits states no build', () => {
    const unbuilt = families.map((family) =>
      family.family === 'sedge'
        ? { ...family, packages: [{ pattern: '^p_(?<size>\\d+)\\.zip$', absent: {}, agree: ['size'], examples: [] }] }
        : family,
    );
    const asked = { families: unbuilt, packages: [shelve('p_75.zip', unbuilt)] };
    expect(ask('K2-second 75/5B', undefined, asked).codes).toContain('shelf/build-unstated');
    const { answer, codes, chosen } = ask('K2-second 75/5B', 'reed.638', asked);
    expect(codes).toContain('shelf/build-unstated');
    expect(chosen).toBe('p_75.zip');
    expect(answer.steps).toEqual([{ build: '', because: undefined, shelved: answer.chosen }]);
    expect(answer.findings.find(({ code }) => code === 'shelf/newest')?.facts).toMatchObject({ build: 'unstated' });
  });

  it('cannot answer without a family file', () => {
    expect(ask('K2-second 75/5B', undefined, { families: [] })).toMatchObject({
      verdict: 'unproven',
      codes: ['label/no-family'],
    });
  });
});

describe('from what the panel runs', () => {
  it('says a downgrade and the same build', () => {
    expect(ask('K2-second 75/5B', 'reed.1096')).toMatchObject({
      verdict: 'not-ready',
      chosen: 'reed.746_5B_second_K2.zip',
    });
    expect(ask('K2-second 75/5B', 'reed.1096').codes).toContain('build/older');
    expect(ask('K2-second 75/5B', 'reed.746').codes).toContain('build/same');
  });

  it('goes over bridges, one stick a step, and begins with the first', () => {
    const { answer, codes, chosen, verdict } = ask('VX+075+EU Rev C', 'v2.4.0_20220301');
    expect(chosen).toBe('lantern-vx-eu-revc-v3.0.0_20230110.zip');
    expect(answer.newest?.record.name).toBe('lantern-vx-eu-revc-v3.10.2_20240305.zip');
    expect(answer.steps.map(({ build, shelved }) => [build, shelved?.record.name])).toEqual([
      ['v3.0.0_20230110', 'lantern-vx-eu-revc-v3.0.0_20230110.zip'],
      ['v3.6.0_20230822', 'lantern-vx-eu-revc-v3.6.0_20230822.zip'],
      ['v3.10.2_20240305', 'lantern-vx-eu-revc-v3.10.2_20240305.zip'],
    ]);
    expect(answer.findings.find(({ code }) => code === 'shelf/bridge-first')).toMatchObject({
      subject: chosen,
      facts: { running: 'v2.4.0_20220301', target: 'v3.10.2_20240305' },
    });
    expect(codes).not.toContain('build/bridge-needed');
    expect(verdict).toBe('ready');
  });

  it('stops where a bridge is due and not on the shelf', () => {
    const { answer, codes, chosen } = ask('VX+075+EU Rev C', 'v2.4.0_20220301', {
      packages: packages.filter(({ record }) => !record.name.includes('v3.0.0')),
    });
    expect(codes).toContain('shelf/bridge-not-there');
    expect(codes).not.toContain('shelf/bridge-first');
    expect(chosen).toBeUndefined();
    expect(answer.steps[0]).toEqual({
      build: 'v3.0.0_20230110',
      because: 'version 3 replaces the update program; older ones refuse later packages',
      shelved: undefined,
    });
  });

  it('stops where the shelf has two of one bridge, and names both', () => {
    const twin = shelve('lantern-vx-eu-revc-V3.0.00_20230110.zip', families);
    const { answer, chosen } = ask('VX+075+EU Rev C', 'v2.4.0_20220301', { packages: [...packages, twin] });
    expect(chosen).toBeUndefined();
    const found = answer.findings.filter(({ code }) => code === 'shelf/bridge-not-there');
    expect(found.map(({ subject, facts }) => [subject, facts])).toEqual([
      [
        'lantern-vx-eu-revc-v3.10.2_20240305.zip',
        {
          build: 'v3.0.0_20230110',
          running: 'v2.4.0_20220301',
          steps: answer.steps.map(({ build, because }) => ({ build, because })),
          names: ['lantern-vx-eu-revc-v3.0.0_20230110.zip', twin.record.name],
        },
      ],
    ]);
    const [told] = found.map((one) => textsOf(one));
    expect(told?.seen).toContain(`the shelf has lantern-vx-eu-revc-v3.0.0_20230110.zip, ${twin.record.name}`);
    expect(told?.todo).toContain('stickwright shelf remove');
  });

  it('keeps what else is to be said of the two builds beside the bridges', () => {
    const dated = families.map((family) =>
      family.family === 'lantern'
        ? { ...family, bridges: family.bridges?.map((bridge) => ({ ...bridge, 'running-before': 'v3.0.0_20230110' })) }
        : family,
    );
    const { codes } = ask('VX+075+EU Rev C', 'v2.4.0_220301', { families: dated });
    expect(codes).toEqual(expect.arrayContaining(['build/ambiguous-date', 'shelf/bridge-first']));
  });

  it('names the bridges where nobody says what runs; and only where there are some', () => {
    expect(ask('K2-second 75/5B').codes).toContain('shelf/running-unknown');
    expect(ask('86 in 24P.M3').codes).toContain('shelf/running-not-said');
  });
});

describe('what else is known', () => {
  it('repeats what was accepted and what was unproven when the package was added', () => {
    const finding = { severity: 'caution' as const, subject: 'x', title: 'a title', seen: 'seen' };
    const packages = [
      shelve('reed.746_5B_second_K2.zip', families, {
        result: {
          verdict: 'unproven',
          findings: [
            { ...finding, code: 'update/wipes', acceptedBecause: 'agreed by two people' },
            { ...finding, code: 'archive/no-published-hash', severity: 'unproven', title: 'No published hash' },
          ],
        },
      }),
    ];
    const { codes, answer } = ask('K2-second 75/5B', 'reed.638', { packages });
    expect(codes).toEqual(expect.arrayContaining(['shelf/accepted-when-added', 'shelf/unproven-when-added']));
    expect(answer.findings.filter((found) => severityOf(found) === 'stop')).toEqual([]);
  });

  it('says damage and twins only where they may concern this label', () => {
    const damaged = [
      { id: 'a', files: ['reed.1096_5B_second_K2.zip'], problem: 'it is cut short', newer: undefined },
      { id: 'b', files: ['basalt_86_24p_m3_r2000.zip'], problem: 'it is cut short', newer: undefined },
    ];
    const twin = shelve('reed.702_8S_third_home.zip', families);
    const asked = { damaged, packages: [...packages, twin] };
    const about = (label: string) =>
      ask(label, undefined, asked).answer.findings.filter(({ code }) =>
        ['shelf/record-damaged', 'shelf/name-twice'].includes(code),
      );
    expect(about('K2-second 75/5B').map(({ subject }) => subject)).toEqual(['a']);
    expect(about('home-third 65/8S').map(({ code }) => code)).toEqual(['shelf/name-twice']);
    expect(about('home-second 75/5B')).toEqual([]);
  });
});
