import { describe, expect, it } from 'vitest';
import { severityOf, verdictOf } from '../../../src/core/findings/finding.ts';
import { findOnShelf, type ShelfQuestion } from '../../../src/core/shelf/find-on-shelf.ts';
import { shelve } from '../../fixtures/shelf/shelved.ts';
import { sampleFamilies } from '../label/families.ts';

// The rules are common practice, no source: exactly the label, the newest by the family's scheme, never a guess.
const families = await sampleFamilies();

/** Twelve invented packages of three families. */
const packages = [
  'TSC4-2_K2_20240117.zip',
  'TSC4-2_K2_20230901.zip',
  'TSC4-2_20240117.zip',
  'TSC4-1_K2_20240301.zip',
  'TSB1-3_20231204.zip',
  'lantern-vx-eu-revc-v3.10.2_20240305.zip',
  'lantern-vx-eu-revc-v3.9.0_20240105.zip',
  'lantern-vx-eu-revc-v3.6.0_20230822.zip',
  'lantern-vx-eu-revc-v3.0.0_20230110.zip',
  'lantern-vx-eu-v3.10.2_20240305.zip',
  'bsl86_24p_m3_r1047.zip',
  'bsl86_24p_m3_r982.zip',
].map((name) => shelve(name, families));

function ask(label: string, running?: string, wish: Partial<ShelfQuestion> = {}) {
  const answer = findOnShelf({ label, running, families, packages, damaged: [], ...wish });
  const codes = answer.findings.map(({ code }) => code);
  return { answer, codes, chosen: answer.chosen?.record.name, verdict: verdictOf(answer.findings) };
}

describe('the newest package for exactly this label', () => {
  it('with a factory code, and without: the standard unit gets the standard package', () => {
    expect(ask('TS75C4-2 K2', '20231001').chosen).toBe('TSC4-2_K2_20240117.zip');
    expect(ask('TS75C4-2', '20231001').chosen).toBe('TSC4-2_20240117.zip');
  });

  it('by number, not by letter: 3.10 is newer than 3.9 and r1047 than r982', () => {
    expect(ask('LN-075-VX-EU Rev C', 'v3.9.0_20240105').chosen).toBe('lantern-vx-eu-revc-v3.10.2_20240305.zip');
    expect(ask('BSL86/24P.M3', '982').chosen).toBe('bsl86_24p_m3_r1047.zip');
  });

  it('and none for a misread label, whatever it looks like', () => {
    const { answer, codes, verdict } = ask('TS75C4-2 KZ');
    expect(answer.fitting).toEqual([]);
    expect(answer.chosen).toBeUndefined();
    expect(codes).toContain('label/possible-misread');
    expect(verdict).toBe('not-ready');
  });

  it('and none where the shelf has only neighbours; the part that does not fit is named, fewest first', () => {
    const { answer, codes } = ask('TS75C4-2 K3');
    expect(codes).toContain('shelf/none-fits');
    expect(answer.nearMisses.map(({ shelved, parts }) => [shelved.record.name, parts.map(({ part }) => part)])).toEqual(
      [
        ['TSC4-2_K2_20240117.zip', ['factory']],
        ['TSC4-2_K2_20230901.zip', ['factory']],
        ['TSC4-2_20240117.zip', ['factory']],
        ['TSC4-1_K2_20240301.zip', ['generation', 'factory']],
        ['TSB1-3_20231204.zip', ['series', 'generation', 'factory']],
      ],
    );
    const [first] = answer.nearMisses[0]?.parts ?? [];
    expect(first).toMatchObject({ label: 'K3', other: 'K2', relation: 'differs' });
  });

  it('chooses neither of two packages of one build', () => {
    const { answer, codes } = ask('TS75C4-2', '20231001', {
      packages: [...packages, shelve('tsc4-2_20240117.zip', families)],
    });
    expect(codes).toContain('shelf/newest-unclear');
    expect(answer.chosen).toBeUndefined();
  });

  it('cannot answer without a family file', () => {
    expect(ask('TS75C4-2 K2', undefined, { families: [] })).toMatchObject({
      verdict: 'unproven',
      codes: ['label/no-family'],
    });
  });
});

describe('from what the panel runs', () => {
  it('says a downgrade and the same build', () => {
    expect(ask('TS75C4-2 K2', '20250101')).toMatchObject({ verdict: 'not-ready', chosen: 'TSC4-2_K2_20240117.zip' });
    expect(ask('TS75C4-2 K2', '20250101').codes).toContain('build/older');
    expect(ask('TS75C4-2 K2', '20240117').codes).toContain('build/same');
  });

  it('goes over bridges, one stick a step, and begins with the first', () => {
    const { answer, codes, chosen, verdict } = ask('LN-075-VX-EU Rev C', 'v2.4.0_20220301');
    expect(chosen).toBe('lantern-vx-eu-revc-v3.0.0_20230110.zip');
    expect(answer.newest?.record.name).toBe('lantern-vx-eu-revc-v3.10.2_20240305.zip');
    expect(answer.steps.map(({ build, shelved }) => [build, shelved?.record.name])).toEqual([
      ['v3.0.0_20230110', 'lantern-vx-eu-revc-v3.0.0_20230110.zip'],
      ['v3.6.0_20230822', 'lantern-vx-eu-revc-v3.6.0_20230822.zip'],
      ['v3.10.2_20240305', 'lantern-vx-eu-revc-v3.10.2_20240305.zip'],
    ]);
    expect(codes).toContain('shelf/bridge-first');
    expect(codes).not.toContain('build/bridge-needed');
    expect(verdict).toBe('ready');
  });

  it('stops where a bridge is due and not on the shelf', () => {
    const { answer, codes, chosen } = ask('LN-075-VX-EU Rev C', 'v2.4.0_20220301', {
      packages: packages.filter(({ record }) => !record.name.includes('v3.0.0')),
    });
    expect(codes).toContain('shelf/bridge-not-there');
    expect(chosen).toBeUndefined();
    expect(answer.steps[0]).toEqual({
      build: 'v3.0.0_20230110',
      because: 'version 3 replaces the update program; older ones refuse later packages',
      shelved: undefined,
    });
  });

  it('names the bridges where nobody says what runs; and only where there are some', () => {
    expect(ask('TS75C4-2 K2').codes).toContain('shelf/running-unknown');
    expect(ask('BSL86/24P.M3').codes).toContain('shelf/running-not-said');
  });
});

describe('what else is known', () => {
  it('repeats what was accepted and what was unproven when the package was added', () => {
    const finding = { severity: 'caution' as const, subject: 'x', title: 'a title', seen: 'seen' };
    const packages = [
      shelve('TSC4-2_K2_20240117.zip', families, {
        result: {
          verdict: 'unproven',
          findings: [
            { ...finding, code: 'update/wipes', acceptedBecause: 'agreed by two people' },
            { ...finding, code: 'archive/no-published-hash', severity: 'unproven', title: 'No published hash' },
          ],
        },
      }),
    ];
    const { codes, answer } = ask('TS75C4-2 K2', '20231001', { packages });
    expect(codes).toEqual(expect.arrayContaining(['shelf/accepted-when-added', 'shelf/unproven-when-added']));
    expect(answer.findings.filter((found) => severityOf(found) === 'stop')).toEqual([]);
  });

  it('says damage and twins only where they may concern this label', () => {
    const damaged = [
      { id: 'a', files: ['TSC4-2_K2_20250101.zip'], problem: 'it is cut short', newer: undefined },
      { id: 'b', files: ['bsl86_24p_m3_r2000.zip'], problem: 'it is cut short', newer: undefined },
    ];
    const twin = shelve('TSB1-3_20231204.zip', families);
    const asked = { damaged, packages: [...packages, twin] };
    const about = (label: string) =>
      ask(label, undefined, asked).answer.findings.filter(({ code }) =>
        ['shelf/record-damaged', 'shelf/name-twice'].includes(code),
      );
    expect(about('TS75C4-2 K2').map(({ subject }) => subject)).toEqual(['a']);
    expect(about('TS65B1-3').map(({ code }) => code)).toEqual(['shelf/name-twice']);
    expect(about('TS75C4-2')).toEqual([]);
  });
});
