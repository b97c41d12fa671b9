import { type Finding, finding } from '../../findings/finding.ts';
import type { SignatureFacts, SignatureHash } from '../../update-package/update-package-facts.ts';

type ReadSignature = Extract<SignatureFacts, { state: 'read' }>;

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
export function checkSignatureForm(signature: ReadSignature): readonly Finding[] {
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
