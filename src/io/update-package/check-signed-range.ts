import { createHash, createVerify, type Hash, timingSafeEqual, type Verify, verify } from 'node:crypto';
import type { SignatureFacts, SignatureHash, TrustedAnswer } from '../../core/update-package/update-package-facts.ts';
import type { CmsSignature } from './read-cms.ts';
import type { ReadCertificate } from './read-signers.ts';

/** Takes the signed range of a file, in order, and answers once all of it was there. */
export interface SignedRange {
  update(chunk: Uint8Array): void;
  /** Call once. */
  answer(): SignatureFacts;
}

/**
 * Prepares one running digest for each different pair of key and hash that must be asked: in the usual case, where the
 * trusted certificate is the one inside, that is a single one. A trusted certificate is asked with the hash of its own
 * signature, as AOSP's verifier does, and not with the one that the package names.
 */
export function checkSignedRange(
  cms: CmsSignature,
  signedBytes: number,
  trusted: readonly ReadCertificate[],
): SignedRange {
  const ask = cms.attributes === undefined ? askContent(cms) : askAttributes(cms, cms.attributes);
  const signer = typeof cms.signer === 'string' ? undefined : cms.signer;
  const inside = signer && ask.prepare(signer, cms.hash);
  const answers = trusted.map((one) => ({ certificate: one, verifies: ask.prepare(one, one.facts.hash ?? cms.hash) }));
  return {
    update: ask.update,
    answer: () => ({
      state: 'read',
      hash: cms.hash,
      attributes: cms.attributes !== undefined,
      signedBytes,
      answer: inside === undefined ? (cms.signer as 'without-certificate') : inside() ? 'intact' : 'broken',
      certificate: signer?.facts,
      trusted: answers.map(
        (one): TrustedAnswer => ({
          certificate: one.certificate.facts,
          sameKey: signer?.key.equals(one.certificate.key) === true,
          verifies: one.verifies(),
        }),
      ),
    }),
  };
}

interface Question {
  update(chunk: Uint8Array): void;
  /** Call before the first update; ask the result after the last, as often as wanted. */
  prepare(certificate: ReadCertificate, hash: SignatureHash): () => boolean;
}

/** The signature covers the content itself. */
function askContent(cms: CmsSignature): Question {
  const running = new Map<string, { readonly digest: Verify; readonly answer: () => boolean }>();
  return {
    update: (chunk) => {
      for (const { digest } of running.values()) digest.update(chunk);
    },
    prepare: ({ key }, hash) => {
      const id = `${hash} ${key.export({ type: 'spki', format: 'der' }).toString('base64')}`;
      const before = running.get(id);
      if (before !== undefined) return before.answer;
      const digest = createVerify(hash);
      const answer = once(() => safely(() => digest.verify(key, cms.signature)));
      running.set(id, { digest, answer });
      return answer;
    },
  };
}

/** The signature covers the attributes, and these hold the content's digest (RFC 5652 5.4, 5.6). */
function askAttributes(cms: CmsSignature, attributes: NonNullable<CmsSignature['attributes']>): Question {
  const digest: Hash = createHash(cms.hash);
  const contentAgrees = once(() => sameBytes(digest.digest(), attributes.messageDigest));
  return {
    update: (chunk) => {
      digest.update(chunk);
    },
    prepare:
      ({ key }, hash) =>
      () =>
        hash === cms.hash && contentAgrees() && safely(() => verify(hash, attributes.encoded, key, cms.signature)),
  };
}

const sameBytes = (a: Uint8Array, b: Uint8Array): boolean => a.length === b.length && timingSafeEqual(a, b);

function once(ask: () => boolean): () => boolean {
  let known: boolean | undefined;
  return () => {
    known ??= ask();
    return known;
  };
}

/** OpenSSL throws where key and signature cannot go together at all; that is a no. */
function safely(ask: () => boolean): boolean {
  try {
    return ask();
  } catch {
    return false;
  }
}
