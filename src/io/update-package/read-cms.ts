import { type BaseBlock, Constructed, fromBER, OctetString, Sequence } from 'asn1js';
import { AuthorityKeyIdentifier, ContentInfo, IssuerAndSerialNumber, SignedData, type SignerInfo } from 'pkijs';
import type { SignatureHash } from '../../core/update-package/update-package-facts.ts';
import { describeCertificate, type ReadCertificate } from './read-signers.ts';

/** What a whole-file signature holds, before anything is hashed. */
export interface CmsSignature {
  readonly hash: SignatureHash;
  readonly signature: Uint8Array;
  /** Signed attributes: what the signature really covers, and the digest of the content among it (RFC 5652 5.4). */
  readonly attributes: { readonly encoded: Uint8Array; readonly messageDigest: Uint8Array } | undefined;
  readonly signer: ReadCertificate | 'without-certificate' | 'certificate-damaged';
}

export type CmsReading =
  | { readonly state: 'unreadable'; readonly problem: string }
  | { readonly state: 'unsupported'; readonly what: string }
  | { readonly state: 'read'; readonly cms: CmsSignature };

/** More than any signature of 65,535 bytes has; the reader stops there instead of filling memory. */
const limits = { maxDepth: 40, maxNodes: 20_000 };

/** Reads a CMS SignedData (RFC 5652 section 5). Of several signers the first counts, as in AOSP's verifier. */
export function readCms(der: Uint8Array): CmsReading {
  try {
    return readSignedData(der);
  } catch {
    // The ASN.1 reader throws on every kind of malformed structure; which one does not matter here.
    return { state: 'unreadable', problem: 'the signature block is damaged' };
  }
}

function readSignedData(der: Uint8Array): CmsReading {
  const { result, offset } = fromBER(der, limits);
  if (offset < 0) return { state: 'unreadable', problem: 'the signature block is not ASN.1' };
  const content = new ContentInfo({ schema: result });
  if (content.contentType !== '1.2.840.113549.1.7.2') {
    return { state: 'unreadable', problem: 'the signature block is no CMS SignedData' };
  }
  const signed = new SignedData({ schema: content.content });
  const [info] = signed.signerInfos;
  if (info === undefined) return { state: 'unreadable', problem: 'the signature block names no signer' };
  const unsupported = unsupportedBy(info);
  if (unsupported !== undefined) return { state: 'unsupported', what: unsupported };
  const hash = hashes[info.digestAlgorithm.algorithmId];
  if (hash === undefined) return { state: 'unsupported', what: `hash ${info.digestAlgorithm.algorithmId}` };
  const attributes = readAttributes(info);
  if (attributes === 'no-digest') return { state: 'unreadable', problem: 'the signed attributes hold no digest' };
  const signature = Uint8Array.from(info.signature.valueBlock.valueHexView);
  const certificates = certificatesIn(result);
  return { state: 'read', cms: { hash, signature, attributes, signer: signerAmong(certificates, info) } };
}

/** RFC 5754, RFC 3370: what a signature algorithm other than RSA (PKCS #1 v1.5) and ECDSA is called. */
function unsupportedBy(info: SignerInfo): string | undefined {
  const known = ['1.2.840.113549.1.1.', '1.2.840.10045.'];
  const algorithm = info.signatureAlgorithm.algorithmId;
  if (algorithm === '1.2.840.113549.1.1.10') return 'RSASSA-PSS';
  return known.some((start) => algorithm.startsWith(start)) ? undefined : `signature algorithm ${algorithm}`;
}

function readAttributes(info: SignerInfo): CmsSignature['attributes'] | 'no-digest' {
  if (info.signedAttrs === undefined) return undefined;
  // 1.2.840.113549.1.9.4: message-digest (RFC 5652 11.2).
  const digest = info.signedAttrs.attributes.find((one) => one.type === '1.2.840.113549.1.9.4')?.values[0];
  if (!(digest instanceof OctetString)) return 'no-digest';
  return {
    // Encoded as SET OF instead of [0], which is what is signed (RFC 5652 5.4).
    encoded: new Uint8Array(info.signedAttrs.encodedValue),
    messageDigest: Uint8Array.from(digest.valueBlock.valueHexView),
  };
}

/** The certificates as they are encoded: field [0] of SignedData. */
function certificatesIn(contentInfo: BaseBlock): readonly Uint8Array[] {
  const signedData = children(children(contentInfo)[1])[0];
  const set = children(signedData).find((block) => block.idBlock.tagClass === 3 && block.idBlock.tagNumber === 0);
  return children(set).map((block) => Uint8Array.from(block.valueBeforeDecodeView));
}

const children = (block: unknown): readonly BaseBlock[] =>
  block instanceof Sequence || block instanceof Constructed ? (block.valueBlock.value as BaseBlock[]) : [];

/** The signer's certificate, where it is inside and nothing contradicts it. */
function signerAmong(ders: readonly Uint8Array[], info: SignerInfo): CmsSignature['signer'] {
  if (ders.length === 0) return 'without-certificate';
  const certificates = ders.map(describeCertificate).filter((one) => one !== undefined);
  const signer = certificates.find((one) => isNamedBy(one, info));
  if (signer === undefined) return 'certificate-damaged';
  return isAltered(signer, certificates) ? 'certificate-damaged' : signer;
}

function isNamedBy(certificate: ReadCertificate, info: SignerInfo): boolean {
  const { asn1 } = certificate;
  if (info.sid instanceof IssuerAndSerialNumber) {
    return info.sid.issuer.isEqual(asn1.issuer) && info.sid.serialNumber.isEqual(asn1.serialNumber);
  }
  const named = (info.sid as OctetString | undefined)?.valueBlock.valueHexView;
  const own = subjectKeyIdentifier(certificate);
  return named !== undefined && own !== undefined && Buffer.from(named).equals(own);
}

/** Its own signature shows whether a certificate is as it was made, where the key that made it is at hand. */
function isAltered(certificate: ReadCertificate, others: readonly ReadCertificate[]): boolean {
  const { x509 } = certificate;
  if (verifies(x509, certificate)) return false;
  if (x509.issuer === x509.subject || namesItselfAsIssuer(certificate)) return true;
  const issuer = others.find((one) => one !== certificate && one.x509.subject === x509.issuer);
  return issuer !== undefined && !verifies(x509, issuer);
}

function verifies(x509: ReadCertificate['x509'], by: ReadCertificate): boolean {
  try {
    return x509.verify(by.key);
  } catch {
    return false;
  }
}

/**
 * Authority and subject key identifiers are equal: self-signed, even where a name no longer says so (RFC 5280 4.2.1).
 */
function namesItselfAsIssuer(certificate: ReadCertificate): boolean {
  const authority = extension(certificate, '2.5.29.35');
  const own = subjectKeyIdentifier(certificate);
  if (!(authority instanceof AuthorityKeyIdentifier) || own === undefined) return false;
  const key = authority.keyIdentifier?.valueBlock.valueHexView;
  return key !== undefined && Buffer.from(key).equals(own);
}

function subjectKeyIdentifier(certificate: ReadCertificate): Uint8Array | undefined {
  const value = extension(certificate, '2.5.29.14');
  return value instanceof OctetString ? value.valueBlock.valueHexView : undefined;
}

const extension = ({ asn1 }: ReadCertificate, id: string): unknown =>
  asn1.extensions?.find((one) => one.extnID === id)?.parsedValue;

/** RFC 5754 section 2, RFC 3370 2.1. */
const hashes: Readonly<Record<string, SignatureHash>> = {
  '1.3.14.3.2.26': 'sha1',
  '2.16.840.1.101.3.4.2.1': 'sha256',
  '2.16.840.1.101.3.4.2.2': 'sha384',
  '2.16.840.1.101.3.4.2.3': 'sha512',
};
