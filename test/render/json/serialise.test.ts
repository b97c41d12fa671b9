import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { ReportDocument } from '../../../src/core/report/report-schema.ts';
import { serialise } from '../../../src/render/json/serialise.ts';

const head: ReportDocument = {
  schema: 'stickwright/report/1',
  command: 'verify',
  verdict: null,
  exitCode: 0,
  findings: [],
};

describe('a document in pieces', () => {
  it('is what JSON.stringify makes of it, on one line', () => {
    fc.assert(
      fc.property(fc.dictionary(fc.string(), fc.option(fc.anything(), { nil: undefined })), (members) => {
        const document = { ...members, ...head };
        fc.pre(isJson(document));
        expect([...serialise(document)].join('')).toBe(`${JSON.stringify(document)}\n`);
      }),
    );
  });

  it('comes in pieces of a bounded length, however many files it names', () => {
    const files = Array.from({ length: 5000 }, (_, index) => ({ path: `part-${index}`, sha256: 'a'.repeat(64) }));
    const pieces = [...serialise({ ...head, sticks: [{ manifest: { files } }, { manifest: { files } }] })];
    expect(pieces.length).toBeGreaterThan(10);
    expect(Math.max(...pieces.map(({ length }) => length))).toBeLessThan(70_000);
    expect(JSON.parse(pieces.join(''))).toMatchObject({ sticks: [{ manifest: { files } }, { manifest: { files } }] });
  });
});

/** Reports hold neither maps nor bigints, nor what JSON has no word for. */
function isJson(value: unknown): boolean {
  if (Array.isArray(value)) return value.every((item) => item === undefined || isJson(item));
  if (typeof value === 'object' && value !== null)
    return (
      Object.getPrototypeOf(value) === Object.prototype &&
      Object.values(value).every((one) => one === undefined || isJson(one))
    );
  return value === null || ['string', 'number', 'boolean'].includes(typeof value);
}
