import fc from 'fast-check';
import { expect, it } from 'vitest';
import { canonicalForm, withOwnDigest } from '../../../src/core/documents/own-digest.ts';
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
