import { isSettledBy, rootCodeOf } from '../../findings/doubts.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import { withAccepted } from '../../findings/verdict.ts';
import type { Family } from '../../model/family.ts';
import { byTimeAdded } from '../../shelf/order-packages.ts';
import type { ShelfRecord, ShelvedPackage } from '../../shelf/shelf-record.ts';
import type { HashClaim } from '../archive/check-published-hashes.ts';
import { checkProvenance } from './check-provenance.ts';

/** What a person should know of a package before a stick is made from it: its origin, and what was open when it was added. */
export function checkChosen(
  chosen: ShelvedPackage,
  packages: readonly ShelvedPackage[],
  families: readonly Family[],
): readonly Finding[] {
  const { record } = chosen;
  const earlier = packages.filter((one) => one.id !== chosen.id && byTimeAdded(one, chosen) < 0);
  const origin = withAccepted(checkProvenance(record, earlier, families), acceptedIn(record));
  const address =
    record.from === null
      ? []
      : [finding('provenance/address', record.name, { from: record.from, addedAt: record.addedAt })];
  return [...address, ...origin, ...checkResult(record)];
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
 * The bytes that a record remembers, as a claim about the file that lies there: as good as the published hash only where the
 * package was compared with one, or needed none, when it was added: what a pass over it asks again it must then not answer.
 */
export const claimOf = ({ sha256, result }: Pick<ShelfRecord, 'sha256' | 'result'>, from: string): HashClaim => ({
  algorithm: 'SHA-256',
  hex: sha256,
  from,
  kept: openIn(result).some(({ code }) => code === unnamed.code || isSettledBy('reading-the-archive', code)),
});

/** What a preparation need not be told of the shelf's doubts, because its own pass asks again. */
export const withoutAskedAgain = (findings: readonly Finding[]): readonly Finding[] =>
  findings.filter((found) => !isSettledBy('reading-the-archive', rootCodeOf(found)));
