import type { HashClaim } from '../checks/archive/check-published-hashes.ts';
import { checkOrigin } from '../checks/fit/check-origin.ts';
import { isSettledBy, rootCodeOf } from '../findings/doubts.ts';
import { type Finding, finding, withAccepted } from '../findings/finding.ts';
import { readPackageName } from '../label/read-label.ts';
import type { Family } from '../model/family.ts';
import { byTimeAdded } from './index-shelf.ts';
import { familyNameOf } from './select-packages.ts';
import type { ShelfRecord, ShelvedPackage } from './shelf-record.ts';

/**
 * What a person should know of a package before a stick is made from it: its origin, and what was open when it was
 * added.
 */
export function checkChosen(
  chosen: ShelvedPackage,
  packages: readonly ShelvedPackage[],
  families: readonly Family[],
): readonly Finding[] {
  const { record } = chosen;
  const earlier = packages.filter((one) => byTimeAdded(one, chosen) < 0);
  const origin = withAccepted(checkProvenance(record, earlier, families), acceptedIn(record));
  const address =
    record.from === null
      ? []
      : [finding('provenance/address', record.name, { from: record.from, addedAt: record.addedAt })];
  const made = readPackageName(record.name, families).readings.flatMap(({ family }) =>
    checkOrigin(record.name, family),
  );
  return [...address, ...origin, ...checkResult(record), ...made];
}

const acceptedIn = ({ result }: Pick<ShelfRecord, 'result'>): ReadonlyMap<string, string> =>
  new Map(
    result.findings.flatMap(({ code, acceptedBecause }) =>
      acceptedBecause === undefined ? [] : [[code, acceptedBecause] as const],
    ),
  );

function checkResult({ name, addedAt, result }: ShelfRecord): readonly Finding[] {
  const accepted = [...acceptedIn({ result })].map(([code, because]) =>
    finding('shelf/accepted-when-added', name, { code, because, addedAt }),
  );
  return [...accepted, ...checkOpen({ name, result })];
}

/** What was unproven when a package was added is so until it is added with the proof. */
export const checkOpen = ({ name, result }: Pick<ShelfRecord, 'name' | 'result'>): readonly Finding[] =>
  openIn(result).map((doubt) => finding('shelf/unproven-when-added', name, doubt));

const unnamed = { code: 'shelf/unproven-when-added', title: 'something that its record does not name' };

function openIn({ verdict, findings }: ShelfRecord['result']): readonly { code: string; title: string }[] {
  const doubts = findings.filter(({ severity }) => severity === 'unproven').map(({ code, title }) => ({ code, title }));
  return doubts.length === 0 && verdict === 'unproven' ? [unnamed] : doubts;
}

/**
 * The bytes that a record remembers, as a claim about the file that lies there: as good as the published hash only
 * where the package was compared with one, or needed none, when it was added: what a pass over it asks again it must
 * then not answer.
 */
export const claimOf = ({ sha256, result }: Pick<ShelfRecord, 'sha256' | 'result'>, from: string): HashClaim => ({
  algorithm: 'SHA-256',
  hex: sha256,
  from,
  kept: openIn(result).some(({ code }) => code === unnamed.code || isSettledBy('reading-the-archive', code)),
});

/**
 * What a preparation need not be told of the shelf's doubts, because its own pass asks again, or it reads label and
 * name with the same families.
 */
export const withoutAskedAgain = (findings: readonly Finding[]): readonly Finding[] =>
  findings.filter(
    (found) => found.code !== 'fit/family-unconfirmed' && !isSettledBy('reading-the-archive', rootCodeOf(found)),
  );

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
  const noAddress = origin.from === null ? [finding('provenance/no-address', origin.name)] : [];
  const family = familyNameOf(origin, families);
  if (family === undefined) return noAddress;
  const kin = earlier.filter(({ record }) => familyNameOf(record, families) === family).toSorted(byTimeAdded);
  return [...checkSigner(origin, kin, family, families), ...noAddress, ...checkHost(origin, kin, family)];
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

function checkHost(origin: Origin, kin: readonly ShelvedPackage[], family: string): readonly Finding[] {
  const host = hostOf(origin.from);
  const [last] = kin.toReversed().flatMap(({ record: { name, from } }) => {
    const before = hostOf(from);
    return before === undefined ? [] : [{ name, before }];
  });
  if (host === undefined || last === undefined || host === last.before) return [];
  return [finding('provenance/other-host', origin.name, { family, host, before: last.before, other: last.name })];
}

/** `https://support.example/x` → `support.example`; undefined for a text that is no address. */
const hostOf = (address: string | null): string | undefined =>
  /^[a-z][a-z0-9+.-]*:\/\/(?:[^/?#@]*@)?(\[[^\]]*\]|[^/?#:]+)/i.exec(address ?? '')?.[1]?.toLowerCase();
