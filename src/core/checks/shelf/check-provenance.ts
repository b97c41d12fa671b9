import { type Finding, finding } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import { familyNameOf } from '../../shelf/family-of-package.ts';
import { byTimeAdded } from '../../shelf/order-packages.ts';
import type { ShelfRecord, ShelvedPackage } from '../../shelf/shelf-record.ts';

type Origin = Pick<ShelfRecord, 'name' | 'family' | 'from' | 'signature'>;

/**
 * Who signed a package and where it came from, beside the packages of its family that were added before it. A signer
 * other than the last one's is a stop, unless the family file names both.
 */
export function checkProvenance(
  origin: Origin,
  earlier: readonly ShelvedPackage[],
  families: readonly Family[],
): readonly Finding[] {
  const family = familyNameOf(origin, families);
  const kin = earlier
    .filter(({ record }) => family !== undefined && familyNameOf(record, families) === family)
    .toSorted(byTimeAdded);
  const signer = family === undefined ? [] : checkSigner(origin, kin, family, families);
  return [...signer, ...checkAddress(origin, kin, family)];
}

function checkSigner(
  origin: Origin,
  kin: readonly ShelvedPackage[],
  family: string,
  families: readonly Family[],
): readonly Finding[] {
  const last = kin.at(-1)?.record;
  const lastSigned = kin.findLast(({ record }) => record.signature.fingerprint !== null)?.record;
  const { fingerprint } = origin.signature;
  if (fingerprint === null) {
    const gone = last !== undefined && last.signature.fingerprint !== null;
    return gone ? [finding('provenance/signature-gone', origin.name, beside(origin, last, family))] : [];
  }
  const known = families.some(
    (one) => one.family === family && one.signers?.some((signer) => signer.toLowerCase() === fingerprint),
  );
  const who = { family, fingerprint, subject: origin.signature.subject ?? '' };
  if (lastSigned !== undefined && lastSigned.signature.fingerprint !== fingerprint) {
    const facts = beside(origin, lastSigned, family);
    return [finding(known ? 'provenance/signer-listed' : 'provenance/signer-changed', origin.name, facts)];
  }
  if (known || lastSigned !== undefined) return [finding('provenance/signer-same', origin.name, { ...who, known })];
  if (last !== undefined) return [finding('provenance/now-signed', origin.name, { ...who, other: last.name })];
  return [finding('provenance/signer-first', origin.name, who)];
}

const beside = (now: Origin, before: ShelfRecord, family: string) => ({
  family,
  other: before.name,
  before: signatureInWords(before.signature),
  now: signatureInWords(now.signature),
});

export function signatureInWords({ state, fingerprint, subject }: ShelfRecord['signature']): string {
  if (fingerprint !== null) return `"${subject ?? ''}", certificate SHA-256 ${fingerprint}`;
  return state === 'none' ? 'not signed' : 'a signature that could not be verified';
}

function checkAddress(origin: Origin, kin: readonly ShelvedPackage[], family: string | undefined): readonly Finding[] {
  if (origin.from === null) return [finding('provenance/no-address', origin.name)];
  const host = hostOf(origin.from);
  const last = kin.findLast(({ record }) => record.from !== null && hostOf(record.from) !== undefined)?.record;
  const before = last?.from == null ? undefined : hostOf(last.from);
  if (family === undefined || host === undefined || last === undefined || before === undefined || host === before) {
    return [];
  }
  return [finding('provenance/other-host', origin.name, { family, host, before, other: last.name })];
}

/** `https://support.example/x` → `support.example`; undefined for a text that is no address. */
function hostOf(address: string): string | undefined {
  const host = /^[a-z][a-z0-9+.-]*:\/\/(?:[^/?#@]*@)?(\[[^\]]*\]|[^/?#:]+)/i.exec(address)?.[1];
  return host?.toLowerCase();
}
