import { createHash, type KeyObject, X509Certificate } from 'node:crypto';
import { Certificate } from 'pkijs';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import type { SignatureHash, SignerCertificate, SignerKey } from '../../core/update-package/update-package-facts.ts';
import { readRegularFile } from '../files/regular-file.ts';

/** Far more than a file of certificates has. */
export const largestSignerBytes = 1_000_000;

const pemBlock = /-----BEGIN CERTIFICATE-----[\s\S]+?-----END CERTIFICATE-----/g;

/**
 * Reads the trusted certificates in a file, PEM (one or several) or DER, as DER. Throws ToolError `file/not-found`,
 * `file/not-permitted`, and `file/unreadable` where there is none in it.
 */
export async function readSigners(path: string): Promise<readonly Uint8Array[]> {
  return signersIn(path, await readSmall(path));
}

/** The same from the BYTES of a file of this name. */
export function signersIn(path: string, bytes: Buffer): readonly Uint8Array[] {
  const blocks = bytes.toString('latin1').match(pemBlock) ?? [];
  try {
    return (blocks.length > 0 ? blocks : [bytes]).map((one) => new X509Certificate(one).raw);
  } catch (cause) {
    throw new ToolError(
      'file/unreadable',
      path,
      `${path} holds no certificate that can be read.`,
      "Give the maker's X.509 certificate as PEM or DER (.pem, .crt, .cer, .der); a private key or a zip will not do.",
      cause,
    );
  }
}

async function readSmall(path: string): Promise<Buffer> {
  try {
    return await readRegularFile(path, largestSignerBytes);
  } catch (cause) {
    if (cause instanceof ToolError) throw cause;
    const code = systemWordOf(cause);
    if (code === 'ENOENT') {
      throw new ToolError(
        'file/not-found',
        path,
        `There is no file ${path}.`,
        'Check the name of the certificate file and its folder.',
        cause,
      );
    }
    const permitted = code !== 'EACCES' && code !== 'EPERM';
    throw new ToolError(
      permitted ? 'file/unreadable' : 'file/not-permitted',
      path,
      `${path} could not be read as a certificate.`,
      permitted
        ? "Give the maker's certificate as a PEM or DER file."
        : 'Ask whoever owns it for the right to read it, or for a copy.',
      cause,
    );
  }
}

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
 * (bootable/recovery install/verifier.cpp, LoadCertificateFromBuffer). Object identifiers: RFC 8017 A.2.4, RFC 5758
 * 3.2.
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
