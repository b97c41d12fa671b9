import type { HashClaim } from '../core/checks/archive/check-published-hashes.ts';
import { type Finding, verdictOf } from '../core/findings/finding.ts';
import { readPackageName } from '../core/label/read-label.ts';
import type { Family } from '../core/model/family.ts';
import type { CompareReport, ShelfFindReport } from '../core/report/shelf-reports.ts';
import { checkChosen, claimOf, withoutAskedAgain } from '../core/shelf/check-chosen.ts';
import { findOnShelf, prepareCommand } from '../core/shelf/find-on-shelf.ts';
import { checkRunning, compareRunning } from '../core/shelf/find-steps.ts';
import { withoutDoubles } from '../core/shelf/index-shelf.ts';
import type { Shelf } from '../io/shelf/shelf.ts';

interface ShelfFindRequest {
  readonly label: string;
  readonly running: string | undefined;
  readonly families: readonly Family[];
  /** Words of this command that the next one needs too: `--shelf DIR`, `--family FILE`. */
  readonly options: readonly string[];
}

/**
 * The newest package on the shelf for exactly this label, and the way there from what the panel runs. Reads records
 * only.
 */
export async function findPackageOnShelf(request: ShelfFindRequest, shelf: Shelf): Promise<ShelfFindReport> {
  const { packages, damaged } = await shelf.list();
  const answer = findOnShelf({ ...request, packages: withoutDoubles(packages), damaged });
  const verdict = verdictOf(answer.findings);
  const prepare = answer.chosen === undefined || verdict === 'not-ready' ? undefined : prepareCommand(request);
  return { command: 'shelf find', verdict, findings: answer.findings, place: shelf.place, answer, prepare };
}

interface Question {
  readonly running: string;
  readonly families: readonly Family[];
}

/** What a panel runs beside what a package's name says it brings. The file is not read: `inspect` says the rest. */
export function compareWithName(fileName: string, { running, families }: Question): CompareReport {
  const { findings, ...comparison } = compareRunning(running, readPackageName(fileName, families), undefined);
  return { command: 'compare', verdict: verdictOf(findings), findings, running, name: fileName, ...comparison };
}

/** What a panel runs beside the newest package on the shelf for its label. */
export async function compareWithShelf(label: string, question: Question, shelf: Shelf): Promise<CompareReport> {
  const { running, families } = question;
  const { packages, damaged } = await shelf.list();
  const answer = findOnShelf({ label, running, families, packages: withoutDoubles(packages), damaged });
  const { findings, newest } = answer;
  const name = newest?.record.name;
  const parts = answer.label.readings[0]?.parts;
  const { packaged, order, steps } =
    name === undefined
      ? { packaged: undefined, order: undefined, steps: [] }
      : compareRunning(running, readPackageName(name, families), parts);
  return { command: 'compare', verdict: verdictOf(findings), findings, running, name, packaged, order, steps };
}

/** What is known of a package before it is opened. */
export interface KnownPackage {
  /** What its bytes must be, where the shelf says. */
  readonly claims: readonly HashClaim[];
  readonly known: readonly Finding[];
}

/**
 * What is known of the package at PATH for a panel with this label: what its name says beside the running build, and,
 * where it lies on the shelf, what its record says of it, doubts included.
 */
export async function knownOfPackage(
  path: string,
  { fileName, ...question }: Omit<ShelfFindRequest, 'options'> & { readonly fileName: string },
  shelf: Shelf | undefined,
): Promise<KnownPackage> {
  const running = checkRunning(fileName, question, question.families);
  const packages = shelf === undefined ? [] : (await shelf.list()).packages;
  const shelved = packages.find((one) => one.path === path);
  if (shelved === undefined) return { claims: [], known: running };
  const from = `the record on the shelf (${shelved.record.addedAt.slice(0, 10)})`;
  const told = withoutAskedAgain(checkChosen(shelved, packages, question.families));
  return { claims: [claimOf(shelved.record, from)], known: [...told, ...running] };
}
