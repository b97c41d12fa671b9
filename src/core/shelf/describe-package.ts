import type { FindingCode } from '../findings/catalogue.ts';
import { doubtsOf, rootCodeOf } from '../findings/doubts.ts';
import { type Finding, severityOf, textsOf, verdictOf } from '../findings/finding.ts';
import { plainText } from '../text/words.ts';
import type { ArchiveAnswer, SignatureFacts } from '../update-package/update-package-facts.ts';
import { checkOpen } from './check-chosen.ts';
import type { ShelfRecord, ShelvedPackage } from './shelf-record.ts';

/** All of a record but when, by which version, and with which result it was added. */
export type PackageDescription = Omit<ShelfRecord, 'schema' | 'addedAt' | 'tool' | 'result' | 'selfSha256'>;

export interface PackageOrigin {
  readonly from: string | undefined;
  readonly note: string | undefined;
}

export function describePackage(answer: ArchiveAnswer, sha256: string, origin: PackageOrigin): PackageDescription {
  const { facts, package: named, inside } = answer;
  const [reading, ...others] = named.readings;
  const read = others.length === 0 ? reading : undefined;
  return {
    name: facts.fileName,
    bytes: facts.bytes,
    sha256,
    directorySha256: facts.directorySha256,
    family: read?.family.family ?? null,
    build: read?.build ?? null,
    from: origin.from ?? null,
    note: origin.note ?? null,
    signature: describeSignature(inside?.signature),
  };
}

/** A signer is remembered only where the signature verifies with that certificate. */
function describeSignature(signature: SignatureFacts | undefined): ShelfRecord['signature'] {
  if (signature === undefined || signature.state === 'none') return { state: 'none', fingerprint: null, subject: null };
  const unchecked = { state: 'unchecked', fingerprint: null, subject: null } as const;
  if (signature.state !== 'read') return unchecked;
  const trusted = signature.trusted.find(({ verifies }) => verifies)?.certificate;
  const signer = trusted ?? (signature.answer === 'intact' ? signature.certificate : undefined);
  if (signer === undefined) return unchecked;
  return { state: 'intact', fingerprint: signer.sha256, subject: plainText(signer.subject) };
}

/** More of them say no more about a package that was sound enough to be kept. */
const mostRemembered = 200;

/** Notes ask nothing of anybody, but these say why the package was believed. */
const proofs: readonly FindingCode[] = ['archive/hash-matches', 'update/signer-known'];

/** What was found, as it was said then. */
export function describeResult(findings: readonly Finding[]): ShelfRecord['result'] {
  // What is open comes first: none of it may be lost behind two hundred cautions.
  const told = findings.filter((found) => severityOf(found) !== 'note' || proofs.includes(found.code));
  const others = told.filter((found) => severityOf(found) !== 'unproven').slice(0, mostRemembered);
  const remembered = [...doubtsOf(findings), ...others];
  return {
    verdict: verdictOf(findings) === 'ready' ? 'ready' : 'unproven',
    findings: remembered.map((found) => {
      const { title, seen } = textsOf(found);
      return {
        code: found.code,
        severity: severityOf(found),
        subject: found.subject,
        title,
        seen,
        ...(found.acceptedBecause === undefined ? {} : { acceptedBecause: found.acceptedBecause }),
      };
    }),
  };
}

/**
 * What was open when it was added and is not today, where nothing else is open today: by the same checks, made again.
 */
export function settledNow(record: ShelvedPackage['record'], findings: readonly Finding[]): readonly string[] {
  const before = checkOpen(record).map(rootCodeOf);
  const now = new Set<string>(doubtsOf(findings).map(({ code }) => code));
  return [...now].every((code) => before.includes(code)) ? before.filter((code) => !now.has(code)) : [];
}

/** Today's answer, and what was said of its origin and accepted then: that is still so. */
export function addProof(before: ShelfRecord['result'], findings: readonly Finding[]): ShelfRecord['result'] {
  const now = describeResult(findings);
  const said = new Set(now.findings.map(({ code }) => code));
  const still = before.findings.filter(({ code, severity }) => severity !== 'unproven' && !said.has(code));
  return { ...now, findings: [...now.findings, ...still] };
}
