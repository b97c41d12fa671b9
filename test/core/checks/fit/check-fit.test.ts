import { describe, expect, it } from 'vitest';
import { checkFit } from '../../../../src/core/checks/fit/check-fit.ts';
import { textsOf, verdictOf } from '../../../../src/core/findings/finding.ts';
import { readLabel, readPackageName } from '../../../../src/core/label/read-label.ts';
import type { Family } from '../../../../src/core/model/family.ts';
import { familyNamed, sampleFamilies } from '../../label/families.ts';

const samples = await sampleFamilies();
const slate = familyNamed(samples, 'slate');

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
  return { codes: findings.map(({ code }) => code), verdict: verdictOf(findings), texts: findings.map(textsOf) };
}

describe('with a family', () => {
  it('is ready where every part that must agree is equal', () => {
    expect(ask('TS75C4-2 K2', 'TSC4-2_K2_20240117.zip')).toMatchObject({
      codes: ['label/read', 'fit/fits'],
      verdict: 'ready',
    });
    expect(ask('ts110c4', 'TSC4-1_20240117.zip').verdict).toBe('ready');
    expect(ask('LN-075-VX-EU Rev C', 'lantern-vx-eu-revc-v3.10.2_20240305.zip').verdict).toBe('ready');
    expect(ask('BSL65/22E.N12', 'bsl_all_22e_n12_r640.zip').verdict).toBe('ready');
  });

  it.each([
    ['TS75C4-2 K2', 'TSC4-2_K3_20240117.zip', 'factory', 'the other factory variant'],
    ['TS75C4-2 K2', 'TSC4-2_20240117.zip', 'factory', 'the standard package on a unit with a code'],
    ['TS75C4-2', 'TSC4-2_K2_20240117.zip', 'factory', 'a coded package on a standard unit'],
    ['TS75C4', 'TSC4-2_20240117.zip', 'generation', 'the second generation on a first'],
    ['BSL65/23E', 'bsl650_23e_r982.zip', 'size', '65 is not in 650'],
  ])('%s stops %s: the %s differs (%s)', (label, fileName, part) => {
    const { codes, verdict, texts } = ask(label, fileName);
    expect(codes).toEqual(['label/read', 'fit/part-differs']);
    expect(verdict).toBe('not-ready');
    expect(texts[1]?.seen).toContain(`The ${part} differs`);
    expect(texts[1]?.seen).toContain(`label    ${label}`);
    expect(texts[1]?.seen).toContain(`package  ${fileName}`);
  });

  it('says what absence means where it decides', () => {
    const { texts } = ask('TS75C4-2', 'TSC4-2_K2_20240117.zip');
    expect(texts[0]?.seen).toContain('generation 2, factory standard (by its absence)');
    expect(texts[1]?.seen).toContain('the label carries none, which means standard, the package says K2');
  });

  it('names every part that differs', () => {
    expect(ask('TS75C4-2 K2', 'TSB1-3_20231204.zip').codes.filter((code) => code === 'fit/part-differs')).toHaveLength(
      3,
    );
  });

  it('never passes look-alikes, neither between label and package nor in a label nobody reads', () => {
    expect(ask('LN-075-VX-EU Rev O', 'lantern-vx-eu-revq-v3.10.2_20240305.zip')).toMatchObject({
      codes: ['label/read', 'fit/possible-misread'],
      verdict: 'not-ready',
    });
    const misread = ask('TS7SC4-2 K2', 'TSC4-2_K2_20240117.zip');
    expect(misread.codes).toEqual(['label/possible-misread']);
    expect(misread.texts[0]?.seen).toContain('"TS75C4-2 K2"');
    expect(misread.verdict).toBe('not-ready');
  });

  it('says which part is missing and where to look', () => {
    const { codes, texts, verdict } = ask('TS75-2 K2', 'TSC4-2_K2_20240117.zip');
    expect(codes).toEqual(['label/part-missing']);
    expect(texts[0]?.todo).toContain('series: the letter and digit after the size');
    expect(verdict).toBe('not-ready');
  });

  it('says so where an optional part without a stated absence is missing', () => {
    const family = { ...slate, label: { ...slate.label, absent: { factory: 'standard' } } };
    const { codes, texts } = ask('TS75C4', 'TSC4-1_20240117.zip', { families: [family] });
    expect(codes).toEqual(['label/read', 'fit/part-missing']);
    expect(texts[1]?.todo).toContain('the digit after the dash');
  });

  it.each([
    ['TS75C4-2', 'lantern-vx-am-v3.9.0_20231120.zip', ['label/read', 'fit/package-of-another-family']],
    ['TS75C4-2', 'TSC4-2_20240117 (1).zip', ['label/read', 'fit/package-name-unknown']],
    ['nonsense', 'TSC4-2_20240117.zip', ['label/unreadable']],
    ['nonsense', 'nonsense.zip', ['label/unreadable', 'fit/package-name-unknown']],
  ])('%s and %s: %j', (label, fileName, codes) => {
    expect(ask(label, fileName)).toMatchObject({ codes, verdict: 'not-ready' });
  });

  it('does not choose between two families', () => {
    const families = [slate, { ...slate, family: 'slate-copy', title: 'Copy' }];
    const { codes, verdict } = ask('TS75C4-2', 'TSC4-2_20240117.zip', { families });
    expect(codes).toEqual(['label/read-by-two-families', 'fit/package-of-two-families']);
    expect(verdict).toBe('not-ready');
  });
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
    expect(ask('QX 75-C', 'TSC4-2_20240117.zip', found)).toMatchObject({
      codes: ['label/unreadable'],
      verdict: 'not-ready',
    });
    expect(ask('TS7SC4-2', 'TS7SC4-2.zip', found)).toMatchObject({
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
