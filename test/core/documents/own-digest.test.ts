import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as z from 'zod';
import { canonicalForm, parseDocument, withOwnDigest } from '../../../src/core/documents/own-digest.ts';
import { sha256 } from '../../../src/io/digest/node-digest.ts';

const json = fc.jsonValue({ noUnicodeString: false });
const document = fc.dictionary(fc.string(), fc.oneof(json, fc.array(json), fc.constant(undefined)));

/** RFC 8785, 3.2: no blanks, members sorted by UTF-16 units, strings and numbers as ECMAScript writes them. */
function byHand(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map((item) => byHand(item ?? null)).join(',')}]`;
  if (typeof value !== 'object' || value === null) return JSON.stringify(value);
  const members = Object.entries(value).filter(([, member]) => member !== undefined);
  const sorted = members.sort(([one], [other]) => (one < other ? -1 : 1));
  return `{${sorted.map(([name, member]) => `${JSON.stringify(name)}:${byHand(member)}`).join(',')}}`;
}

it('the canonical form is that of RFC 8785, without the digest', () => {
  fc.assert(
    fc.property(document, (members) => {
      const { selfSha256: _, ...others } = members;
      expect(canonicalForm({ ...members, selfSha256: 'any' })).toBe(byHand(others));
    }),
  );
});

it('the digest is over the canonical form in UTF-8', () => {
  fc.assert(
    fc.property(document, (members) => {
      expect(withOwnDigest(members, sha256).selfSha256).toBe(sha256(canonicalForm(members)));
    }),
  );
});

describe('a document by its version', { tags: ['any-machine-checks'] }, () => {
  interface Stated {
    readonly schema: string;
    readonly selfSha256?: string;
  }
  const shape = (version: number) => {
    const schema = z.literal(`stickwright/x/${version}`);
    return z.strictObject({ schema, a: z.string(), selfSha256: z.string().optional() }) as unknown as z.ZodType<Stated>;
  };
  const read = (document: unknown) =>
    parseDocument<Stated>(JSON.stringify(document), 'x', { 1: shape(1), 2: shape(2) }, sha256);
  const state = (schema: unknown) => read({ schema, a: 'b' }).state;

  it('is whole without a digest only in a form that has none, and with one only where it is right', () => {
    const document = { schema: 'stickwright/x/2', a: 'b' };
    expect(read(document)).toEqual({ state: 'whole', document });
    expect(read(withOwnDigest(document, sha256)).state).toBe('whole');
    expect(read({ ...document, selfSha256: '0'.repeat(64) }).state).toBe('broken');
  });

  it('is newer, or broken where it states no version', () => {
    expect(read({ schema: 'stickwright/x/3' })).toEqual({ state: 'newer', schema: 'stickwright/x/3' });
    expect(['stickwright/x/1', 'stickwright/x/2'].map(state)).toEqual(['whole', 'whole']);
    const odd = [
      'stickwright/x/9x',
      'stickwright/x/09',
      'stickwright/x/9999999999',
      'stickwright/xx/9',
      'x/9',
      9,
      null,
    ];
    for (const schema of odd) expect(state(schema), String(schema)).toBe('broken');
    for (const document of [null, 9, [], 'stickwright/x/9', {}]) expect(read(document).state).toBe('broken');
  });

  it('is told in two lines what is wrong with it, in words without breaks', () => {
    const found = read({ schema: 'stickwright/x/1', a: 1, b: 2, selfSha256: 3 });
    expect(found).toMatchObject({ state: 'broken', problem: expect.stringMatching(/^[^\n]+$/) });
    // Three things are wrong, and two of them make two lines.
    expect(found.state === 'broken' && found.problem.match(/→|✖/g)).toHaveLength(2);
  });
});
