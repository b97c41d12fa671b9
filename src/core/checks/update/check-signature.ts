import { type Finding, finding } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import { plainText } from '../../text/words.ts';
import type {
  SignatureFacts,
  SignatureHash,
  SignerCertificate,
  UpdatePackageFacts,
} from '../../update-package/update-package-facts.ts';

type ReadSignature = Extract<SignatureFacts, { state: 'read' }>;

/** Fingerprints that the families demand; undefined where one of them takes any signer, or where there is none. */
type Demanded = ReadonlySet<string> | undefined;

const subject = 'signature';

/**
 * The whole-file signature. It is called known only where a person or a family file says so, and never genuine.
 * A signer whom nobody named is a note and not unproven: the file is proven whole, and whether the panel takes the
 * signer is decided by the certificates in the panel, which no check at a desk can see.
 */
export function checkSignature(facts: UpdatePackageFacts, families: readonly Family[]): readonly Finding[] {
  const demanded = demandedBy(families);
  const { signature } = facts;
  switch (signature.state) {
    case 'none': {
      if (facts.trustedGiven || demanded !== undefined) return [finding('update/signature-missing', subject)];
      return facts.recognised ? [finding('update/not-signed', subject)] : [];
    }
    case 'footer-broken':
      return [finding('update/signature-footer-broken', subject, { problem: signature.problem })];
    case 'unreadable':
      return [finding('update/signature-unreadable', subject, { problem: signature.problem })];
    case 'unsupported':
      return [finding('update/signature-unsupported', subject, { what: plainText(signature.what) })];
    case 'read':
      return checkRead(signature, facts.trustedGiven, demanded, families);
  }
}

function demandedBy(families: readonly Family[]): Demanded {
  const lists = families.map((family) => family.signers ?? []);
  if (lists.length === 0 || lists.some((list) => list.length === 0)) return undefined;
  return new Set(lists.flat().map((one) => one.toLowerCase()));
}

function checkRead(
  signature: ReadSignature,
  trustedGiven: boolean,
  demanded: Demanded,
  families: readonly Family[],
): readonly Finding[] {
  const trusted = signature.trusted.find((one) => one.verifies)?.certificate;
  if (signature.answer === 'certificate-damaged') return [finding('update/signature-certificate-damaged', subject)];
  if (signature.answer === 'broken') {
    // A trusted certificate says that the file is whole, so what is wrong is the other certificate inside.
    if (trusted !== undefined) return [finding('update/signature-certificate-damaged', subject)];
    const by = plainText(signature.certificate?.subject ?? '');
    return [finding('update/signature-broken', subject, { subject: by })];
  }
  const signer = trusted ?? signature.certificate;
  if (signer === undefined && !trustedGiven) return [finding('update/signature-without-certificate', subject)];
  return [
    whoSigned(signature, signer, trusted !== undefined, trustedGiven, demanded, families),
    ...checkSignatureForm(signature),
  ];
}

function whoSigned(
  signature: ReadSignature,
  signer: SignerCertificate | undefined,
  isTrusted: boolean,
  trustedGiven: boolean,
  demanded: Demanded,
  families: readonly Family[],
): Finding {
  const inside = signature.certificate ?? signer;
  const missed = trustedGiven && !isTrusted ? signature.trusted.map((one) => one.certificate.sha256) : undefined;
  const outside = demanded !== undefined && !(inside !== undefined && demanded.has(inside.sha256));
  if (missed !== undefined || outside) {
    const expected = [...(missed ?? []), ...(outside ? (demanded ?? []) : [])];
    const onlyHashDiffers = missed !== undefined && signature.trusted.some((one) => one.sameKey);
    return finding('update/signer-differs', subject, { signer: inside && shown(inside), expected, onlyHashDiffers });
  }
  // Past the lines above somebody is there: without a certificate and without a trusted one there was no way here.
  const known = signer as SignerCertificate;
  const inFamily = families.some((family) => family.signers?.some((one) => one.toLowerCase() === known.sha256));
  return finding(isTrusted || inFamily ? 'update/signer-known' : 'update/signer-unknown', subject, shown(known));
}

const shown = (signer: SignerCertificate): { fingerprint: string; subject: string } => ({
  fingerprint: signer.sha256,
  subject: plainText(signer.subject),
});

const names: Readonly<Record<SignatureHash, string>> = {
  sha1: 'SHA-1',
  sha256: 'SHA-256',
  sha384: 'SHA-384',
  sha512: 'SHA-512',
};

/**
 * A sound signature of a weak or unusual kind. What AOSP's recovery takes: SHA-1 or SHA-256 after the certificate's own
 * signature, over the file and not over attributes; RSA of 2048 or 4096 bits with exponent 3 or 65537; ECDSA on P-256
 * with SHA-256. Source: AOSP bootable/recovery install/verifier.cpp.
 */
function checkSignatureForm(signature: ReadSignature): readonly Finding[] {
  const reasons = [...contentReasons(signature), ...keyReasons(signature)];
  return [
    ...(signature.hash === 'sha1' ? [finding('update/signature-weak', 'signature')] : []),
    ...(reasons.length > 0 ? [finding('update/signature-form', 'signature', { reasons })] : []),
  ];
}

function contentReasons({ attributes, hash, certificate }: ReadSignature): readonly string[] {
  const reasons: string[] = [];
  if (attributes) reasons.push('it covers signed attributes instead of the file itself');
  if (hash !== 'sha1' && hash !== 'sha256') reasons.push(`its hash is ${names[hash]}`);
  else if (certificate?.hash !== undefined && certificate.hash !== hash) {
    reasons.push(`its hash is ${names[hash]} where its certificate asks for ${names[certificate.hash]}`);
  }
  return reasons;
}

function keyReasons({ certificate, hash }: ReadSignature): readonly string[] {
  const key = certificate?.key;
  if (key?.kind === 'rsa') {
    const usual = [2048, 4096].includes(key.bits) && ['3', '65537'].includes(key.exponent);
    return usual ? [] : [`its RSA key has ${key.bits} bits and exponent ${key.exponent}`];
  }
  if (key?.kind === 'ec') {
    if (key.curve !== 'prime256v1') return [`its key lies on the curve ${key.curve}`];
    return hash === 'sha256' ? [] : ['it is an elliptic-curve signature with another hash than SHA-256'];
  }
  return [];
}
