import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { checkFit } from '../../src/core/checks/fit/check-fit.ts';
import { verdictOf } from '../../src/core/findings/finding.ts';
import { readLabel, readPackageName } from '../../src/core/label/read-label.ts';
import type { Family } from '../../src/core/model/family.ts';
import { normaliseLabel, upperForComparing } from '../../src/core/text/label-text.ts';
import { sampleFamilies } from '../core/label/families.ts';
import { grammarCases, singleChanges } from './grammar-arbitraries.ts';

const samples = await sampleFamilies();

const upper = (parts: Readonly<Record<string, string>> | undefined) =>
  Object.fromEntries(Object.entries(parts ?? {}).map(([part, value]) => [part, value.toUpperCase()]));

const verdict = (label: string, fileName: string, families: readonly Family[]) => {
  const findings = checkFit({
    label: readLabel(label, families),
    package: readPackageName(fileName, families),
    families,
    familiesNamed: true,
    wipes: true,
  });
  return { verdict: verdictOf(findings), codes: findings.map(({ code }) => code) };
};

const same = (a: string, b: string): boolean =>
  upperForComparing(normaliseLabel(a)) === upperForComparing(normaliseLabel(b));

describe('any label made from a grammar', () => {
  it('reads back to its parts, in any case and with any dash, and fits the package made for it', () => {
    const typing = fc.constantFrom(
      (text: string) => text,
      (text: string) => text.toLowerCase(),
      (text: string) => ` ${text.replaceAll('-', '\u2011').replaceAll(' ', '\u00A0')}\n`,
    );
    fc.assert(
      fc.property(grammarCases, typing, ({ family, label, parts, fileName }, typed) => {
        const [reading] = readLabel(typed(label), [family]).readings;
        expect(upper(reading?.parts)).toEqual(upper(parts));
        expect(verdict(typed(label), fileName, [family])).toEqual({
          verdict: 'ready',
          codes: ['label/read', 'fit/fits'],
        });
      }),
      { numRuns: 400 },
    );
  });

  it('changed in one character is another label, a possible misread or unreadable: never silently the same panel', () => {
    const seen = { another: 0, misread: 0, unreadable: 0 };
    const changes = grammarCases.chain((one) => fc.tuple(fc.constant(one), singleChanges(one.label)));
    fc.assert(
      fc.property(changes, ([{ family, label, parts, fileName }, changed]) => {
        fc.pre(!same(label, changed));
        const [reading] = readLabel(changed, [family]).readings;
        if (reading !== undefined) expect(upper(reading.parts)).not.toEqual(upper(parts));
        const { verdict: answer, codes } = verdict(changed, fileName, [family]);
        expect(answer).toBe('not-ready');
        if (reading !== undefined) seen.another++;
        else if (codes.includes('label/possible-misread')) seen.misread++;
        else seen.unreadable++;
      }),
      { numRuns: 400 },
    );
    // Each way out was taken, so that none of the three is untested.
    expect(Math.min(seen.another, seen.misread, seen.unreadable)).toBeGreaterThan(0);
  });
});

describe.each(samples)('any label of the sample family $family', (family) => {
  const labels = fc.stringMatching(new RegExp(family.label.pattern));

  it('is read by this family alone, and never as the same panel after one change', () => {
    const changes = labels.chain((label) => fc.tuple(fc.constant(label), singleChanges(label)));
    fc.assert(
      fc.property(changes, ([label, changed]) => {
        const original = readLabel(label, samples).readings;
        expect(original.map((reading) => reading.family.family)).toEqual([family.family]);
        fc.pre(!same(label, changed));
        const readings = readLabel(changed, samples).readings;
        for (const { parts } of readings) expect(parts).not.toEqual(original[0]?.parts);
      }),
      { numRuns: 400 },
    );
  });
});
