import { type Finding, finding } from '../../findings/finding.ts';
import { withAccepted } from '../../findings/verdict.ts';
import type { Family } from '../../model/family.ts';
import { byTimeAdded } from '../../shelf/order-packages.ts';
import type { ShelfRecord, ShelvedPackage } from '../../shelf/shelf-record.ts';
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
  const titles = result.findings.filter(({ severity }) => severity === 'unproven').map(({ title }) => title);
  return titles.length === 0 ? accepted : [...accepted, finding('shelf/unproven-when-added', name, { titles })];
}
