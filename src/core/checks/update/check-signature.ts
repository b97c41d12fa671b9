import { type Finding, finding } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import { plainText } from '../../update-package/plain-text.ts';
import type {
  SignatureFacts,
  SignerCertificate,
  UpdatePackageFacts,
} from '../../update-package/update-package-facts.ts';
import { checkSignatureForm } from './check-signature-form.ts';

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
