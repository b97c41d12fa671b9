import { createHash, type KeyObject, X509Certificate } from 'node:crypto';
import { Certificate } from 'pkijs';
import type { SignatureHash, SignerCertificate, SignerKey } from '../../core/update-package/update-package-facts.ts';

/** A certificate that was read, with what Node needs to check a signature by it. */
export interface ReadCertificate {
  readonly facts: SignerCertificate;
  readonly key: KeyObject;
  readonly x509: X509Certificate;
  /** For comparing issuer and serial number as they are encoded. */
  readonly asn1: Certificate;
}

/** Reads a certificate from DER; undefined where it is none, or where its key is of no kind that Node knows. */
export function describeCertificate(der: Uint8Array): ReadCertificate | undefined {
  try {
    const x509 = new X509Certificate(der);
    const asn1 = Certificate.fromBER(der);
    const key = signerKey(x509.publicKey);
    if (key === undefined) return undefined;
    return {
      facts: {
        sha256: createHash('sha256').update(der).digest('hex'),
        subject: x509.subject.split('\n').join(', '),
        key,
        hash: hashes[asn1.signatureAlgorithm.algorithmId],
      },
      key: x509.publicKey,
      x509,
      asn1,
    };
  } catch {
    // OpenSSL and the ASN.1 reader throw on every kind of malformed certificate; which one does not matter here.
    return undefined;
  }
}

function signerKey(key: KeyObject): SignerKey | undefined {
  const details = key.asymmetricKeyDetails;
  if (key.asymmetricKeyType === 'rsa') {
    return { kind: 'rsa', bits: details?.modulusLength ?? 0, exponent: String(details?.publicExponent ?? '') };
  }
  if (key.asymmetricKeyType === 'ec') return { kind: 'ec', curve: details?.namedCurve ?? 'unnamed' };
  return undefined;
}

/**
 * The hash that a certificate's own signature uses. AOSP takes a certificate signed with MD5 for one of SHA-1
 * (bootable/recovery install/verifier.cpp, LoadCertificateFromBuffer). Object identifiers: RFC 8017 A.2.4, RFC 5758 3.2.
 */
const hashes: Readonly<Record<string, SignatureHash>> = {
  '1.2.840.113549.1.1.4': 'sha1',
  '1.2.840.113549.1.1.5': 'sha1',
  '1.2.840.113549.1.1.11': 'sha256',
  '1.2.840.113549.1.1.12': 'sha384',
  '1.2.840.113549.1.1.13': 'sha512',
  '1.2.840.10045.4.1': 'sha1',
  '1.2.840.10045.4.3.2': 'sha256',
  '1.2.840.10045.4.3.3': 'sha384',
  '1.2.840.10045.4.3.4': 'sha512',
};
