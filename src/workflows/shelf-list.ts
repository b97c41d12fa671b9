import { type Finding, verdictOf } from '../core/findings/finding.ts';
import type { ShelfExportReport, ShelfListReport, ShelfRemoveReport } from '../core/report/shelf-reports.ts';
import { checkOpen } from '../core/shelf/check-chosen.ts';
import { checkListing } from '../core/shelf/check-newcomer.ts';
import { checkExported, checkRemoved } from '../core/shelf/check-shelf.ts';
import { withoutDoubles } from '../core/shelf/index-shelf.ts';
import { selectPackages } from '../core/shelf/select-packages.ts';
import type { ShelvedPackage } from '../core/shelf/shelf-record.ts';
import type { Shelf } from '../io/shelf/shelf.ts';

/** What lies on the shelf, by its records; with names, all that is known of those. */
export async function listShelf(words: readonly string[], shelf: Shelf): Promise<ShelfListReport> {
  const listing = await shelf.list();
  const packages = withoutDoubles(listing.packages);
  const { selected, findings: unknown } = selectPackages(words, packages);
  const whole = words.length > 0;
  const shown = whole ? selected : packages;
  const open = shown.flatMap(({ record }) => checkOpen(record));
  const findings = [...checkListing(packages, listing.damaged), ...unknown, ...open];
  return {
    command: 'shelf list',
    verdict: verdictOf(findings),
    place: shelf.place,
    packages: shown,
    whole,
    findings,
  };
}

/** Takes packages off the shelf after a person agreed; nothing is removed unless every word was understood. */
export async function removeFromShelf(
  words: readonly string[],
  shelf: Shelf,
  agree: (packages: readonly ShelvedPackage[]) => Promise<boolean>,
): Promise<ShelfRemoveReport> {
  const { packages } = await shelf.list();
  // Doubles of one content go together.
  const { selected, findings: unknown } = selectPackages(words, withoutDoubles(packages));
  const none = { command: 'shelf remove', place: shelf.place, removed: [] } as const;
  if (verdictOf(unknown) === 'not-ready') return { ...none, verdict: 'not-ready', findings: unknown, declined: false };
  if (!(await agree(selected))) return { ...none, verdict: 'ready', findings: [], declined: true };
  for (const { record } of selected) {
    const doubles = packages.filter((one) => one.record.sha256 === record.sha256 && one.record.name === record.name);
    for (const { id } of doubles) await shelf.remove(id);
  }
  const findings = checkRemoved(selected);
  return { ...none, removed: selected, verdict: verdictOf(findings), findings, declined: false };
}

interface ShelfExportRequest {
  readonly words: readonly string[];
  readonly folder: string;
}

/** Copies packages out of the shelf under their own names, each compared with its record. */
export async function exportFromShelf(
  { words, folder }: ShelfExportRequest,
  shelf: Shelf,
  signal: AbortSignal,
): Promise<ShelfExportReport> {
  const { packages } = await shelf.list();
  const { selected, findings: unknown } = selectPackages(words, withoutDoubles(packages));
  const findings: Finding[] = [...unknown];
  const exported: { shelved: ShelvedPackage; to: string; state: string }[] = [];
  for (const shelved of selected) {
    const result = await shelf.export(shelved, folder, signal);
    exported.push({ shelved, ...result });
    findings.push(checkExported(shelved, result));
  }
  return { command: 'shelf export', verdict: verdictOf(findings), findings, place: shelf.place, exported };
}
