import { describe, expect, it } from 'vitest';
import { catalogue, entryOf, type FindingCode } from '../../../src/core/findings/catalogue.ts';
import { finding, inOrder, verdictOf, withAccepted } from '../../../src/core/findings/finding.ts';

const codes = Object.keys(catalogue) as FindingCode[];

describe('the catalogue', () => {
  it('names codes as area/kebab-case', () => {
    for (const code of codes) expect(code).toMatch(/^[a-z]+(-[a-z]+)*\/[a-z0-9]+(-[a-z0-9]+)*$/);
  });

  it('says for every code what it is, why it matters and where the rule comes from', () => {
    for (const code of codes) {
      const { title, why, todo, source } = entryOf(code);
      expect(title.length, code).toBeGreaterThan(5);
      expect(title, code).not.toMatch(/\.$/);
      expect(why, code).toMatch(/[.!]$/);
      expect(source.length, code).toBeGreaterThan(3);
      if (typeof todo === 'string') expect(todo, code).toMatch(/[.!]$|stickwright [a-z]+( [a-z/-]+)*$/);
    }
  });
});

describe('the verdict', () => {
  const stop = finding('stick/dirty', 'x');
  const open = finding('verify/content-not-read', 'x');
  const caution = finding('verify/wipes-the-panel', 'x', { mode: 'recovery' });
  const note = finding('plan/nothing-to-do', 'x');

  it('is the worst that the findings say', () => {
    expect(verdictOf([])).toBe('ready');
    expect(verdictOf([note, caution])).toBe('ready');
    expect(verdictOf([note, open, caution])).toBe('unproven');
    expect(verdictOf([open, stop])).toBe('not-ready');
  });

  it('lists stops first and keeps the order of the checks within a severity', () => {
    expect(inOrder([note, caution, open, stop]).map(({ code }) => code)).toEqual(
      [stop, open, caution, note].map(({ code }) => code),
    );
  });

  it('lets a reason lift the one stop that it was given for, and no other', () => {
    const other = finding('stick/read-only', 'x', { by: 'drive' });
    const reasons = new Map([
      ['stick/dirty', 'repaired'],
      ['stick/read-only', 'no'],
    ]);
    const lifted = withAccepted([stop, other], reasons);
    expect(lifted.map(({ acceptedBecause }) => acceptedBecause)).toEqual(['repaired', undefined]);
    expect(verdictOf(withAccepted([stop], reasons))).toBe('ready');
    expect(verdictOf(lifted)).toBe('not-ready');
  });
});
