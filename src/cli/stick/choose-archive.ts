import { basename, resolve, sep } from 'node:path';
import type { HashClaim } from '../../core/checks/archive/check-published-hashes.ts';
import type { Finding } from '../../core/findings/finding.ts';
import { verdictOf, withAccepted } from '../../core/findings/finding.ts';
import type { Family } from '../../core/model/family.ts';
import type { ShelfFindReport } from '../../core/report/shelf-reports.ts';
import { claimOf, withoutAskedAgain } from '../../core/shelf/check-chosen.ts';
import { expectNamedFile } from '../../io/files/standard-input.ts';
import type { Shelf } from '../../io/shelf/shelf.ts';
import { findShelfPlace } from '../../io/shelf/shelf-folder.ts';
import { findPackageOnShelf, knownOfPackage } from '../../workflows/shelf-find.ts';
import { shelfFor } from '../desk.ts';
import { UsageError } from '../frame/exit-codes.ts';

export interface ArchiveChoice {
  readonly label: string;
  readonly fromShelf?: true | undefined;
  readonly shelf?: string | undefined;
  readonly running?: string | undefined;
}

/** The archive to prepare from. */
export interface ChosenArchive {
  readonly archivePath: string;
  /** What its bytes must be, where the shelf says. */
  readonly claims: readonly HashClaim[];
  /** What the shelf's answer says of package and build; the label is read again. */
  readonly known: readonly Finding[];
}

/**
 * The archive that was named, or with `--from-shelf` the one that `shelf find` answers with. Where that is not clear
 * the answer itself is given, to be said in full: nothing is prepared.
 */
export async function chooseArchive(
  named: string | undefined,
  choice: ArchiveChoice,
  { families, accepted }: { readonly families: readonly Family[]; readonly accepted: ReadonlyMap<string, string> },
): Promise<ChosenArchive | ShelfFindReport> {
  if (named !== undefined && choice.fromShelf) {
    throw new UsageError('Both an archive and --from-shelf were given.', 'Leave one of them out.');
  }
  if (named !== undefined) {
    const archivePath = expectNamedFile(named);
    const { label, running } = choice;
    const question = { fileName: basename(named), label, running, families };
    const path = resolve(archivePath);
    return { archivePath, ...(await knownOfPackage(path, question, await shelfAround(path, choice.shelf))) };
  }
  if (!choice.fromShelf) {
    const todo = 'Name the downloaded archive, or say --from-shelf to take the newest for this label from the shelf.';
    throw new UsageError('There is no archive to prepare from.', todo);
  }
  const { shelf } = await shelfFor(choice.shelf);
  const { label, running } = choice;
  const report = await findPackageOnShelf({ label, running, families, options: [] }, shelf);
  const { chosen } = report.answer;
  const findings = withAccepted(report.findings, accepted);
  if (chosen === undefined || verdictOf(findings) === 'not-ready') return report;
  const from = `the record on the shelf (${chosen.record.addedAt.slice(0, 10)})`;
  return {
    archivePath: chosen.path,
    claims: [claimOf(chosen.record, from)],
    known: withoutAskedAgain(findings).filter(({ code }) => !code.startsWith('label/')),
  };
}

/** This desk's shelf, where the archive at PATH lies on it: its record holds then as with `--from-shelf`. */
async function shelfAround(path: string, named: string | undefined): Promise<Shelf | undefined> {
  const { folder } = findShelfPlace(named, process.env);
  return path.startsWith(`${folder}${sep}`) ? (await shelfFor(named)).shelf : undefined;
}
