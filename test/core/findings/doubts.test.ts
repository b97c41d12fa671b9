import { describe, expect, test } from 'vitest';
import { checkHistory } from '../../../src/core/checks/verify/check-record.ts';
import { catalogue, entryOf, type FindingCode } from '../../../src/core/findings/catalogue.ts';
import { isSettledBy } from '../../../src/core/findings/doubts.ts';
import { type Finding, verdictOf } from '../../../src/core/findings/finding.ts';
import { decisionsOf } from '../../../src/core/manifest/build-manifest.ts';
import type { Manifest } from '../../../src/core/model/manifest.ts';
import { checkChosen, checkOpen, claimOf, withoutAskedAgain } from '../../../src/core/shelf/check-chosen.ts';
import { describeResult } from '../../../src/core/shelf/describe-package.ts';
import { anyFacts } from '../../fixtures/any-facts.ts';
import { shelve } from '../../fixtures/shelf/shelved.ts';

const doubts = (Object.keys(catalogue) as FindingCode[]).filter((code) => entryOf(code).severity === 'unproven');
const found = (code: FindingCode): Finding => ({ code, subject: 'x', facts: anyFacts('x') });

/** As verify repeats what a manifest of today holds. */
const repeated = (findings: readonly Finding[]): readonly Finding[] =>
  checkHistory('stick', { schema: 'stickwright/manifest/2', keepsData: true, ...decisionsOf(findings) } as Manifest);

describe('whatever is unproven, of all that the catalogue knows', () => {
  test('there are such codes', () => expect(doubts.length).toBeGreaterThan(45));

  test('the list of what settles a doubt names real ones, and is short', { tags: ['doubt-stays'] }, () => {
    const settled = doubts.filter((code) => isSettledBy('verify', code) || isSettledBy('reading-the-archive', code));
    expect(settled.toSorted()).toEqual([
      'archive/hash-crc-only',
      'archive/no-published-hash',
      'plan/read-back-from-cache',
      'stick/eject-due',
      'stick/not-looked-into',
      'stick/rest-not-looked-at',
    ]);
  });

  for (const code of doubts) {
    test(`${code} stays so on every way that leads on`, { tags: ['doubt-stays'] }, () => {
      const open = found(code);
      // Two hundred other things to remember push nothing out.
      const many = Array.from({ length: 500 }, () => found('provenance/other-host'));
      const result = describeResult([...many, open]);
      const { record } = shelve('a.zip', [], { result });
      expect(record.result.verdict, 'the record on the shelf').toBe('unproven');
      expect(verdictOf(checkOpen(record)), 'shelf list and check').toBe('unproven');
      const chosen = checkChosen({ id: 'a', path: 'a', record }, [], []);
      expect(verdictOf(chosen), 'shelf find and plan').toBe('unproven');

      const told = withoutAskedAgain(chosen);
      // What the desk remembers of the bytes must not answer what the pass asks again.
      if (isSettledBy('reading-the-archive', code)) expect(claimOf(record, 'the shelf').kept).toBe(true);
      if (!isSettledBy('reading-the-archive', code)) {
        expect(verdictOf(told), 'prepare --from-shelf').toBe('unproven');
        const { unproven } = decisionsOf(told);
        if (!isSettledBy('verify', code)) expect(unproven, 'the manifest').toEqual([{ code, subject: 'a.zip' }]);
      }
      if (!isSettledBy('verify', code)) {
        expect(decisionsOf([open]).unproven).toEqual([{ code, subject: 'x' }]);
        expect(verdictOf(repeated([open])), 'every later verify').toBe('unproven');
        // What verify says of the first manifest is unproven in its words, too.
        expect(decisionsOf(repeated([open])).unproven).toEqual([{ code, subject: 'x' }]);
      }
    });
  }

  test('a record that says only that something was open is unproven, too', { tags: ['doubt-stays'] }, () => {
    const { record } = shelve('a.zip', [], { result: { verdict: 'unproven', findings: [] } });
    expect(verdictOf(checkOpen(record))).toBe('unproven');
  });
});
