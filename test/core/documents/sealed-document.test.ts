import canonicalize from 'canonicalize';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { canonicalForm, withOwnDigest } from '../../../src/core/documents/own-digest.ts';
import { sha256 } from '../../../src/io/digest/node-digest.ts';

const json = fc.jsonValue({ noUnicodeString: false });
const document = fc.dictionary(fc.string(), fc.oneof(json, fc.array(json), fc.constant(undefined)));

// RFC 8785 as the library canonicalize has it, for the whole document at once.
it('the canonical form made in pieces is that of the whole, without the digest', () => {
  fc.assert(
    fc.property(document, (members) => {
      expect(canonicalForm({ ...members, selfSha256: 'any' })).toBe(
        canonicalize({ ...members, selfSha256: undefined }),
      );
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
