import { createPrivateKey, createPublicKey, sign } from 'node:crypto';
import { describe, expect, it } from 'vitest';
import { isSignedBy } from '../../src/io/files/desk-key.ts';

/** RFC 8032 section 7.1, TEST 1 to 3; values from memory, held by the signatures that they give. */
const vectors = [
  {
    secret: '9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60',
    publicKey: 'd75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a',
    message: '',
    signature:
      'e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b',
  },
  {
    secret: '4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb',
    publicKey: '3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c',
    message: '72',
    signature:
      '92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00',
  },
  {
    secret: 'c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7',
    publicKey: 'fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025',
    message: 'af82',
    signature:
      '6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a',
  },
];

const hex = (text: string): Buffer => Buffer.from(text, 'hex');

/** RFC 8410 section 7 and 4: a key of 32 bytes behind the fixed head of its structure. */
const privateKeyOf = (secret: string) =>
  createPrivateKey({
    key: Buffer.concat([hex('302e020100300506032b657004220420'), hex(secret)]),
    format: 'der',
    type: 'pkcs8',
  });
const spkiOf = (publicKey: string): Buffer => Buffer.concat([hex('302a300506032b6570032100'), hex(publicKey)]);

describe('Ed25519 as RFC 8032 has it', () => {
  for (const [index, { secret, publicKey, message, signature }] of vectors.entries()) {
    it(`TEST ${index + 1}: the signature, the public key, and what is refused`, () => {
      const key = privateKeyOf(secret);
      expect(sign(null, hex(message), key).toString('hex')).toBe(signature);
      expect(createPublicKey(key).export({ type: 'spki', format: 'der' }).equals(spkiOf(publicKey))).toBe(true);
    });
  }

  it('a text is signed by the key that signed it, and by no other, and no bit may change', () => {
    const [first, second] = vectors as [(typeof vectors)[0], (typeof vectors)[0]];
    const key = spkiOf(first.publicKey).toString('base64');
    // TEST 1 has the empty message, and TEST 2 the one byte 0x72, which is the letter r.
    expect(isSignedBy(key, '', hex(first.signature).toString('base64'))).toBe(true);
    expect(isSignedBy(spkiOf(second.publicKey).toString('base64'), 'r', hex(second.signature).toString('base64'))).toBe(
      true,
    );
    expect(isSignedBy(spkiOf(second.publicKey).toString('base64'), '', hex(first.signature).toString('base64'))).toBe(
      false,
    );
    for (let bit = 0; bit < 512; bit += 7) {
      const changed = hex(first.signature);
      changed[bit >> 3] = (changed[bit >> 3] ?? 0) ^ (1 << (bit & 7));
      expect(isSignedBy(key, '', changed.toString('base64'))).toBe(false);
    }
    for (const bad of ['', 'AAAA', key.slice(4), `${key}AAAA`])
      expect(isSignedBy(bad, '', hex(first.signature).toString('base64'))).toBe(false);
  });
});
