import { describe, expect, it } from 'vitest';
import { olderIn } from '../../../../src/core/checks/fit/check-builds.ts';
import { checkFit, checkMode } from '../../../../src/core/checks/fit/check-fit.ts';
import { textsOf, verdictOf } from '../../../../src/core/findings/finding.ts';
import { readLabel, readPackageName } from '../../../../src/core/label/read-label.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import { familyNamed, sampleFamilies } from '../../label/families.ts';

const samples = await sampleFamilies();
const sedge = familyNamed(samples, 'sedge');
const basalt = familyNamed(samples, 'basalt');

interface Given {
  readonly families?: readonly Family[];
  readonly named?: boolean;
  readonly wipes?: boolean;
}

function ask(label: string, fileName: string, { families = samples, named = true, wipes = false }: Given = {}) {
  const findings = checkFit({
    label: readLabel(label, families),
    package: readPackageName(fileName, families),
    families,
    familiesNamed: named,
    wipes,
  });
  const facts = findings.map((found) => found.facts);
  return { codes: findings.map(({ code }) => code), verdict: verdictOf(findings), texts: findings.map(textsOf), facts };
}

describe('with a family', () => {
  it('is ready where every part that must agree is equal', () => {
    expect(ask('K2-second 75/5B', 'reed.746_5B_second_K2.zip')).toMatchObject({
      codes: ['label/read', 'fit/fits'],
      verdict: 'ready',
    });
    expect(ask('home-first 110/5b', 'reed.746_5B_first_home.zip').verdict).toBe('ready');
    expect(ask('VX+075+EU Rev C', 'lantern-vx-eu-revc-v3.10.2_20240305.zip').verdict).toBe('ready');
    expect(ask('65 in 22E.N12', 'basalt_all_22e_n12_r640.zip').verdict).toBe('ready');
    expect(ask('105 in 23X', 'basalt_105_23x_r982.zip').verdict).toBe('ready');
  });

  it.each([
    ['K2-second 75/5B', 'reed.746_5B_second_K3.zip', 'factory', 'the other factory variant'],
    ['K2-second 75/5B', 'reed.746_5B_second_home.zip', 'factory', "the main factory's package on a unit with a code"],
    ['home-second 75/5B', 'reed.746_5B_second_K2.zip', 'factory', 'a coded package on a unit of the main factory'],
    ['86 in 24P.M3', 'basalt_86_24p_r1047.zip', 'factory', 'a package without a code on a unit with one'],
    ['86 in 24P', 'basalt_86_24p_m3_r1047.zip', 'factory', 'a coded package on a unit without a code'],
    ['VX+098+AM', 'lantern-vx-am-revb-v3.9.0_20231120.zip', 'revision', 'the second revision on a first, unmarked'],
    ['home-first 75/5B', 'reed.746_5B_second_home.zip', 'generation', 'the second generation on a first'],
    ['65 in 23E', 'basalt_650_23e_r982.zip', 'size', '65 is not in 650'],
  ])('%s stops %s: the %s differs (%s)', (label, fileName, part) => {
    const { codes, verdict, texts } = ask(label, fileName);
    expect(codes).toEqual(['label/read', 'fit/part-differs']);
    expect(verdict).toBe('not-ready');
    expect(texts[1]?.seen).toContain(`The ${part} differs`);
    expect(texts[1]?.seen).toContain(`label    ${label}`);
    expect(texts[1]?.seen).toContain(`package  ${fileName}`);
  });

  it('says what absence means where it decides', () => {
    const { texts } = ask('86 in 24P', 'basalt_86_24p_m3_r1047.zip');
    expect(texts[0]?.seen).toContain('tier P, factory main (by its absence)');
    expect(texts[1]?.seen).toContain('the label carries none, which means main, the package says M3');
    const { texts: other } = ask('86 in 24P.M3', 'basalt_86_24p_r1047.zip');
    expect(other[1]?.seen).toContain('the label says M3, the package carries none, which means main');
  });

  it('names every part that differs', () => {
    expect(
      ask('K2-second 75/5B', 'reed.702_8S_third_home.zip').codes.filter((code) => code === 'fit/part-differs'),
    ).toHaveLength(3);
  });

  it('never passes look-alikes, neither between label and package nor in a label nobody reads', () => {
    expect(ask('VX+075+EU Rev O', 'lantern-vx-eu-revq-v3.10.2_20240305.zip')).toMatchObject({
      codes: ['label/read', 'fit/possible-misread'],
      verdict: 'not-ready',
    });
    const misread = ask('K2-second 7S/5B', 'reed.746_5B_second_K2.zip');
    expect(misread.codes).toEqual(['label/possible-misread']);
    expect(misread.texts[0]?.seen).toContain('"K2-second 75/5B"');
    expect(misread.verdict).toBe('not-ready');
  });

  it('says which part is missing and where to look', () => {
    const { codes, texts, verdict } = ask('K2-second 75', 'reed.746_5B_second_K2.zip');
    expect(codes).toEqual(['label/part-missing']);
    expect(texts[0]?.todo).toContain('series: the digit and letter after the slash');
    expect(verdict).toBe('not-ready');
  });

  it('says so where an optional part without a stated absence is missing', () => {
    const family = { ...basalt, label: { ...basalt.label, absent: {} } };
    const { codes, texts } = ask('105 in 23X', 'basalt_105_23x_r982.zip', { families: [family] });
    expect(codes).toEqual(['label/read', 'fit/part-missing']);
    expect(texts[1]?.todo).toContain('behind a full stop at the end of the large line');
  });

  it.each([
    ['home-second 75/5B', 'lantern-vx-am-v3.9.0_20231120.zip', ['label/read', 'fit/package-of-another-family']],
    ['home-second 75/5B', 'reed.746_5B_second_home (1).zip', ['label/read', 'fit/package-name-unknown']],
    ['nonsense', 'reed.746_5B_second_home.zip', ['label/unreadable']],
    ['nonsense', 'nonsense.zip', ['label/unreadable', 'fit/package-name-unknown']],
  ])('%s and %s: %j', (label, fileName, codes) => {
    expect(ask(label, fileName)).toMatchObject({ codes, verdict: 'not-ready' });
  });

  it('does not choose between two families', () => {
    const families = [sedge, { ...sedge, family: 'sedge-copy', title: 'Copy' }];
    const { codes, verdict } = ask('home-second 75/5B', 'reed.746_5B_second_home.zip', { families });
    expect(codes).toEqual(['label/read-by-two-families', 'fit/package-of-two-families']);
    expect(verdict).toBe('not-ready');
    const wide = { ...sedge, family: 'other', title: 'Other', packages: basalt.packages };
    expect(ask('home-second 75/5B', 'reed.746_5B_second_home.zip', { families: [sedge, wide] }).codes).toEqual([
      'label/read-by-two-families',
    ]);
  });

  it('compares with no package that two families claim', () => {
    const twin = { ...sedge, family: 'twin', title: 'Twin', label: basalt.label };
    const { codes } = ask('home-second 75/5B', 'reed.746_5B_second_home.zip', { families: [sedge, twin] });
    expect(codes).toEqual(['label/read', 'fit/package-of-two-families']);
  });

  it('says of older builds what the family says of each mode that it has', () => {
    const { recovery: _, ...modes } = sedge.modes;
    expect(olderIn({ ...sedge, modes })).toEqual([]);
    const inOs = { ...modes['in-os'], 'takes-downgrade': true } as (typeof modes)['in-os'];
    expect(olderIn({ ...sedge, modes: { 'in-os': inOs } } as Family)).toEqual([{ mode: 'in-os', takes: true }]);
  });

  // A second download, or a file that was copied: what it would be under the name that it had.
  it.each([
    ['home-second 75/5B', 'reed.746_5B_second_home (1).zip', { family: sedge.title, fits: true }],
    ['K2-second 75/5B', 'reed.746_5B_second_home (1).zip', { family: sedge.title, fits: false }],
    ['VX+075+EU Rev C', 'reed.746_5B_second_home (1).zip', { family: sedge.title, fits: false }],
    ['nonsense', 'reed.746_5B_second_home (1).zip', { family: sedge.title, fits: false }],
    ['home-second 75/5B', 'nonsense (1).zip', undefined],
    ['home-second 75/5B', 'nonsense.zip', undefined],
  ])('says what a copy was before: %s and %s', (label, fileName, expected) => {
    const before = expected && { name: 'reed.746_5B_second_home.zip', ...expected };
    expect(ask(label, fileName).facts[1]).toMatchObject({ before });
  });

  it('says of a copy that it fits only where one family reads both', () => {
    const file = 'reed.746_5B_second_home (1).zip';
    const copyAmong = (families: readonly Family[]) => {
      const { codes, facts } = ask('home-second 75/5B', file, { families });
      return (facts[codes.indexOf('fit/package-name-unknown')] as { before?: unknown }).before;
    };
    const labels = { ...sedge, family: 'labels', packages: basalt.packages };
    const packages = { ...sedge, family: 'packages', label: basalt.label, title: 'Packages' };
    const name = 'reed.746_5B_second_home.zip';
    expect(copyAmong([labels, packages])).toEqual({ name, family: 'Packages', fits: false });
    expect(copyAmong([sedge, labels])).toEqual({ name, family: sedge.title, fits: false });
    expect(copyAmong([sedge, packages])).toBeUndefined();
  });

  it('looks for more digits only among the packages of the family that reads the label', () => {
    const file = 'reed.1234567_5B_second_K2.zip';
    expect(ask('K2-second 75/5B', file).codes).toEqual(['label/read', 'fit/package-digits-differ']);
    expect(ask('86 in 24P.M3', file).codes).toEqual(['label/read', 'fit/package-name-unknown']);
    expect(ask('nonsense', file).codes).toEqual(['label/unreadable', 'fit/package-digits-differ']);
  });

  it('says that a name says nothing, and before a wipe asks for a word; whose file it is stays in doubt, too', () => {
    const silent = { ...sedge, packages: [{ pattern: '^update\\.zip$', absent: {}, agree: [], examples: [] }] };
    const label = 'K2-second 75/5B';
    const calm = ask(label, 'update.zip', { families: [silent] });
    expect(calm).toMatchObject({ codes: ['label/read', 'fit/name-says-nothing'], verdict: 'unproven' });
    expect(calm.facts[1]).toEqual({ label });
    const wiped = ask(label, 'update.zip', { families: [silent], wipes: true });
    expect(wiped.codes).toEqual(['label/read', 'fit/name-says-nothing-before-wipe', 'fit/name-says-nothing']);
    expect(wiped).toMatchObject({ verdict: 'not-ready', facts: [{}, { label }, { label }] });
    const made = { labels: [label], packages: ['update.zip'], by: 'x', 'where-read': {}, confirmed: [] };
    const table = { ...silent, 'made-from': made };
    expect(ask(label, 'update.zip', { families: [table] }).codes).toContain('fit/family-unconfirmed');
  });

  it('says how the family names its packages, where nobody knows the name', () => {
    expect(ask('home-second 75/5B', 'firmware.zip').facts[1]).toEqual({
      family: sedge.title,
      example: 'reed.746_5B_second_K2.zip',
    });
    expect(ask('nonsense', 'nonsense.zip').facts[1]).toEqual({ family: undefined, example: '' });
  });
});

it('a family that is not updated in a mode says so, and in which it is', () => {
  const { recovery: _, ...modes } = sedge.modes;
  const family = { ...sedge, modes };
  expect(checkMode('recovery', family)).toMatchObject([
    { code: 'plan/mode-not-offered', facts: { mode: 'recovery', family: sedge.title, offered: ['in-os'] } },
  ]);
  expect([...checkMode('in-os', family), ...checkMode('recovery', sedge), ...checkMode('recovery', undefined)]).toEqual(
    [],
  );
});

describe('without a family', { tags: ['doubt-stays'] }, () => {
  const none = { families: [], named: false };

  it('is at best unproven', () => {
    expect(ask('QX 75-C', 'QX_75-C_20240117.zip', none)).toMatchObject({
      codes: ['fit/no-family'],
      verdict: 'unproven',
    });
    expect(ask('QX 75-C', 'QX_75-C_20240117.zip', { named: false })).toMatchObject({
      codes: ['fit/no-family'],
      verdict: 'unproven',
    });
  });

  it('does not make a stranger of a label that a known family’s package was meant for, or that looks like one', () => {
    const found = { named: false };
    expect(ask('QX 75-C', 'reed.746_5B_second_home.zip', found)).toMatchObject({
      codes: ['label/unreadable'],
      verdict: 'not-ready',
    });
    expect(ask('home-second 7S/5B', 'home-second 7S-5B.zip', found)).toMatchObject({
      codes: ['label/possible-misread', 'fit/no-family'],
      verdict: 'not-ready',
    });
  });

  it('compares whole tokens', () => {
    expect(ask('QX 65', 'QX_650_20240117.zip', none)).toMatchObject({
      codes: ['fit/no-family', 'fit/tokens-differ'],
      verdict: 'not-ready',
    });
    expect(ask('QX 65', 'QX_6S_20240117.zip', none).codes).toEqual(['fit/no-family', 'fit/tokens-misread']);
    expect(ask('QX 65', 'QX_650_20240117.zip', none).facts[1]).toMatchObject({
      differing: [{ onLabel: '65', inName: '650' }],
    });
  });

  it('names the families that there were, and wants none where none are known', () => {
    expect(ask('QX 75-C', 'QX_75-C_20240117.zip', { named: false }).facts[0]).toEqual({
      families: samples.map(({ title }) => title),
    });
    expect(ask('QX 75-C', 'QX_75-C_20240117.zip', { families: [] }).codes).toEqual(['fit/no-family']);
  });

  it('leaves a missing token open in the OS, and stops before a wipe', () => {
    expect(ask('QX 75 K2', 'QX_K2_20240117.zip', none)).toMatchObject({
      codes: ['fit/no-family', 'fit/tokens-missing'],
      verdict: 'unproven',
    });
    expect(ask('QX 75 K2', 'QX_K2_20240117.zip', { ...none, wipes: true })).toMatchObject({
      codes: ['fit/no-family', 'fit/tokens-missing-before-wipe'],
      verdict: 'not-ready',
    });
  });

  it('does not take an empty label for a match', () => {
    expect(ask(' - ', 'x.zip', none).codes).toEqual(['fit/no-family', 'fit/tokens-missing']);
  });
});
