import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { withoutDoubles } from '../../../src/core/shelf/index-shelf.ts';
import { selectPackages } from '../../../src/core/shelf/select-packages.ts';
import { parseShelfRecord, serialiseShelfRecord, shelfRecordWithDigest } from '../../../src/core/shelf/shelf-record.ts';
import { sha256, shelve } from '../../fixtures/shelf/shelved.ts';
import { sampleFamilies } from '../label/families.ts';

const families = await sampleFamilies();
const shelved = shelve('reed.746_5B_second_K2.zip', families, { note: 'Für alle Größen. "Quoted", \\ and\nlines.' });
const text = serialiseShelfRecord(shelved.record);

describe('a record', () => {
  it('is read as it was written', () => {
    expect(parseShelfRecord(text, sha256)).toEqual({ state: 'whole', document: shelved.record });
  });

  it('with any one byte changed, cut off or doubled is never taken for whole', () => {
    const bytes = Buffer.from(text);
    fc.assert(
      fc.property(fc.nat(bytes.length - 2), fc.integer({ min: 1, max: 255 }), (at, flip) => {
        const changed = Buffer.from(bytes);
        changed[at] = (changed[at] ?? 0) ^ flip;
        const reading = parseShelfRecord(changed.toString(), sha256);
        // White space between members may change: the record says the same.
        if (reading.state === 'whole') expect(reading.document).toEqual(shelved.record);
        expect(parseShelfRecord(bytes.subarray(0, at).toString(), sha256).state).toBe('broken');
        expect(parseShelfRecord(bytes.toString() + bytes.subarray(at).toString(), sha256).state).toBe('broken');
      }),
      { numRuns: 1_000 },
    );
  });

  it('of a later version is told from a damaged one', () => {
    const later = text.replace('shelf-record/1', 'shelf-record/2');
    expect(parseShelfRecord(later, sha256)).toEqual({ state: 'newer', schema: 'stickwright/shelf-record/2' });
    expect(parseShelfRecord('{"schema":"elsewhere/9"}', sha256).state).toBe('broken');
  });

  it('cannot lead out of its folder', () => {
    for (const name of ['../reed.zip', 'a/b.zip', '..', 'C:\\x.zip', 'record.json']) {
      const { selfSha256: _, ...rest } = shelved.record;
      const record = shelfRecordWithDigest({ ...rest, name }, sha256);
      expect(parseShelfRecord(serialiseShelfRecord(record), sha256).state).toBe('broken');
    }
  });
});

describe('packages by their words', () => {
  const packages = [
    shelved,
    shelve('reed.702_8S_third_home.zip', families),
    shelve('reed.702_8s_third_home.ZIP', families),
  ];
  const names = (...words: readonly string[]) => {
    const { selected, findings } = selectPackages(words, packages);
    return { names: selected.map(({ record }) => record.name), codes: findings.map(({ code }) => code) };
  };

  it('are a whole name in any case, or eight digits of a SHA-256', () => {
    expect(names('reed.746_5b_second_k2.ZIP')).toEqual({ names: ['reed.746_5B_second_K2.zip'], codes: [] });
    const digits = shelved.record.sha256.slice(0, 8);
    expect(names(digits.toUpperCase(), digits)).toEqual({ names: ['reed.746_5B_second_K2.zip'], codes: [] });
  });

  it('are never guessed', () => {
    expect(names(shelved.record.sha256.slice(0, 7)).codes).toEqual(['shelf/not-on-shelf']);
    expect(names('reed.746').codes).toEqual(['shelf/not-on-shelf']);
    expect(names('reed.702_8S_third_home.zip').codes).toEqual(['shelf/several-match']);
    const [found] = selectPackages(['746_5B'], packages).findings;
    expect(found?.facts).toEqual({ names: ['reed.746_5B_second_K2.zip'], count: 3 });
  });

  it('that lie there twice under one name count once, by the first that was added', () => {
    const twice = { ...shelved, id: `${shelved.record.sha256}-ffffffffffff`, record: { ...shelved.record } };
    const later = { ...twice, record: { ...shelved.record, addedAt: '2027-01-01T00:00:00.000Z' } };
    expect(withoutDoubles([later, shelved])).toEqual([shelved]);
    expect(withoutDoubles([shelved, later])).toEqual([shelved]);
  });
});
