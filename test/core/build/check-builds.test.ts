import { describe, expect, it } from 'vitest';
import { checkBuilds } from '../../../src/core/checks/fit/check-builds.ts';
import { type Finding, textsOf, verdictOf } from '../../../src/core/findings/finding.ts';
import type { Family } from '../../../src/core/model/family.ts';
import type { Parts } from '../../../src/core/model/panel-identity.ts';
import { familyNamed, sampleFamilies } from '../label/families.ts';

const families = await sampleFamilies();
/** Builds that are dates; none of the sample families has such. */
const dated: Family = {
  ...familyNamed(families, 'sedge'),
  family: 'dated',
  build: { scheme: 'date' },
  bridges: [{ 'running-before': '20230901', first: '20230901', for: {}, because: 'the storage layout changed' }],
};
const codes = (findings: readonly Finding[]) => findings.map(({ code }) => code);

const ask = (name: string, running: string, packaged: string, parts: Parts = {}): readonly Finding[] =>
  checkBuilds({ running, packaged, family: familyNamed([...families, dated], name), parts });

describe('checkBuilds', () => {
  it('says of an older build what the family says of its modes, and nothing where it says nothing', () => {
    const sedge = familyNamed(families, 'sedge');
    const seen = (takes: boolean | undefined) => {
      const rules = sedge.modes['in-os'];
      if (rules === undefined) throw new Error('sedge takes sticks in its OS');
      const inOs = takes === undefined ? rules : { ...rules, 'takes-downgrade': takes };
      const family = { ...sedge, modes: { ...sedge.modes, 'in-os': inOs } };
      const [found] = checkBuilds({ running: 'reed.1717', packaged: 'reed.746', family, parts: {} });
      return found === undefined ? '' : textsOf(found).seen;
    };
    expect(seen(false)).toContain('its panels refuse an older build in in-os mode');
    expect(seen(true)).toContain('its panels take an older build in in-os mode');
    expect(seen(undefined)).not.toContain('family file');
  });

  it.each([
    ['basalt', '982', '1047', 'build/newer', 'ready'],
    ['basalt', '1047', '1047', 'build/same', 'ready'],
    ['basalt', '1047', '982', 'build/older', 'not-ready'],
    ['basalt', 'about 900', '982', 'build/unreadable', 'unproven'],
    ['sedge', 'reed.746', 'reed.1717', 'build/newer', 'ready'],
    ['sedge', 'reel.746', 'reed.1717', 'build/cannot-order', 'unproven'],
    ['dated', '20231001', '202402011200', 'build/newer', 'ready'],
    ['dated', '20240117', '202401171530', 'build/cannot-order', 'unproven'],
    ['lantern', 'v3.9.0_20240305', 'v3.10.2_20231120', 'build/parts-disagree', 'unproven'],
    ['lantern', 'v3.10.2_20231120', 'v3.9.0_20240305', 'build/parts-disagree', 'unproven'],
    ['lantern', 'v3.9.0_20240305', 'v3.10.2_202403051200', 'build/cannot-order', 'unproven'],
    ['lantern', 'v3.10.2_202403051200', 'v3.9.0_20240305', 'build/cannot-order', 'unproven'],
    ['lantern', 'v3.9.0+1_20240305', 'v3.9.0+2_20231120', 'build/cannot-order', 'unproven'],
    ['lantern', 'v3.9.0+1_20231120', 'v3.9.0+2_20240305', 'build/cannot-order', 'unproven'],
    ['basalt', '982', 'about 900', 'build/unreadable', 'unproven'],
  ])('%s from %s to %s: %s', (name, running, packaged, code, verdict) => {
    const findings = ask(name, running, packaged);
    expect(codes(findings)).toEqual([code]);
    expect(verdictOf(findings)).toBe(verdict);
  });

  it('says of which of the two it cannot be read, or of both', () => {
    const which = (findings: readonly Finding[]) => findings.map(({ facts }) => (facts as { which: string }).which);
    expect(which(ask('basalt', '982', 'about 900'))).toEqual(['packaged']);
    expect(which(ask('basalt', 'about 900', '982'))).toEqual(['running']);
    expect(which(ask('basalt', 'about 900', 'about 982'))).toEqual(['running', 'packaged']);
  });

  it('asks no bridge of a panel that is past it, or that stands behind where it ends', () => {
    const lantern = familyNamed(families, 'lantern');
    const bridge = { 'running-before': '3.2.0', first: '3.4.0', for: {}, because: 'the storage layout changed' };
    const family: Family = { ...lantern, build: { scheme: 'version' }, bridges: [bridge] };
    const codeFrom = (running: string, one = bridge) =>
      codes(checkBuilds({ running, packaged: '4.0.0', family: { ...family, bridges: [one] }, parts: {} }));
    expect(codeFrom('3.1.0')).toEqual(['build/bridge-needed']);
    expect(codeFrom('3.3.0')).toEqual(['build/newer']);
    // A family file that was never checked may have bridges that lead down, or cannot be read.
    expect(codeFrom('3.1.0', { ...bridge, first: '3.0.0' })).toEqual(['build/newer']);
    expect(codeFrom('3.1.0', { ...bridge, first: 'soon' })).toEqual(['build/newer']);
    expect(codeFrom('3.1.0', { ...bridge, 'running-before': 'soon' })).toEqual(['build/newer']);
  });

  it('names the bridge builds, one stick a step, for the panels that need them', () => {
    const [all] = ask('lantern', 'v2.8.0_20220501', 'v3.10.2_20240305', { revision: 'C' });
    expect(all?.code).toBe('build/bridge-needed');
    expect(all?.facts).toMatchObject({
      steps: [
        { build: 'v3.0.0_20230110', because: expect.stringContaining('update program') },
        { build: 'v3.6.0_20230822', because: expect.stringContaining('revision C') },
        { build: 'v3.10.2_20240305', because: undefined },
      ],
    });
    if (all !== undefined) expect(textsOf(all).seen).toContain('3 steps, one stick a step');
    const [other] = ask('lantern', 'v2.8.0_20220501', 'v3.10.2_20240305', { revision: 'FIRST' });
    expect(other?.facts).toMatchObject({ steps: [{ build: 'v3.0.0_20230110' }, { build: 'v3.10.2_20240305' }] });
  });

  it('takes the oldest bridge first, in whatever order the file lists them', () => {
    const lantern = familyNamed(families, 'lantern');
    const [found] = checkBuilds({
      running: 'v2.8.0_20220501',
      packaged: 'v3.10.2_20240305',
      family: { ...lantern, bridges: lantern.bridges?.toReversed() },
      parts: { revision: 'C' },
    });
    expect(found?.facts).toMatchObject({ steps: [{ build: 'v3.0.0_20230110' }, { build: 'v3.6.0_20230822' }, {}] });
  });

  it('knows when a bridge is behind, ahead or the target itself', () => {
    expect(codes(ask('dated', '20230901', '20240117'))).toEqual(['build/newer']);
    expect(codes(ask('dated', '20230101', '20230901'))).toEqual(['build/newer']);
    expect(codes(ask('dated', '20230101', '20230301'))).toEqual(['build/newer']);
    expect(codes(ask('dated', '20230101', '20230902'))).toEqual(['build/bridge-needed']);
  });

  it('does not guess where a bridge cannot be ordered', () => {
    expect(codes(ask('dated', '202309010800', '20240117'))).toEqual(['build/bridge-unclear']);
  });

  it('does not guess which of two bridges comes first where they cannot be ordered, however the file lists them', () => {
    const lantern = familyNamed(families, 'lantern');
    // The second has the higher version and the earlier day; both are due, and neither would be after the other.
    const bridges = ['v3.0.0_20230601', 'v3.5.0_20230101'].map((first) => ({
      'running-before': 'v2.9.0_20220601',
      first,
      for: {},
      because: 'the storage layout changed',
    }));
    for (const listed of [bridges, bridges.toReversed()]) {
      const question = { running: 'v2.8.0_20220501', packaged: 'v3.10.2_20240305', parts: {} };
      const found = checkBuilds({ ...question, family: { ...lantern, bridges: listed } });
      expect(codes(found)).toEqual(['build/bridge-unclear']);
      expect(verdictOf(found)).toBe('unproven');
    }
  });

  it('says so where six digits may be several dates', () => {
    expect(codes(ask('dated', '240117', '20250101'))).toEqual(['build/ambiguous-date', 'build/bridge-unclear']);
  });
});
