import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { canonicalForm } from '../../../../src/core/documents/own-digest.ts';
import type { RoundRecord } from '../../../../src/core/model/round-record.ts';
import { uniteRecords } from '../../../../src/core/rounds/records/order-records.ts';
import { recordArbitrary } from '../../../fixtures/records/record-arbitrary.ts';

const digestOf = (records: readonly RoundRecord[]): string =>
  createHash('sha256').update(JSON.stringify(records)).digest('hex');
const unite = (all: readonly RoundRecord[]) => uniteRecords(all).records;

describe('the union of records', () => {
  const many = fc.array(recordArbitrary, { maxLength: 12 });

  it('is idempotent, commutative and associative, also where ids are used twice', () => {
    fc.assert(
      fc.property(many, many, many, (a, b, c) => {
        expect(unite([...unite(a), ...unite(a)])).toEqual(unite(a));
        expect(digestOf(unite([...a, ...b]))).toBe(digestOf(unite([...b, ...a])));
        expect(unite([...unite([...a, ...b]), ...c])).toEqual(unite([...a, ...unite([...b, ...c])]));
      }),
    );
  });

  it('loses no id, and names every content that does not count', () => {
    fc.assert(
      fc.property(many, (all) => {
        const { records, rivals } = uniteRecords(all);
        expect(new Set(records.map(({ id }) => id))).toEqual(new Set(all.map(({ id }) => id)));
        const said = (record: RoundRecord) => canonicalForm({ ...record, at: '', notedAt: '', who: '' });
        expect(new Set([...records, ...rivals].map(said))).toEqual(new Set(all.map(said)));
        const times = records.map(({ at }) => Date.parse(at));
        expect(times).toEqual(times.toSorted((x, y) => x - y));
      }),
    );
  });
});
