import { finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { ShelfRemoveReport } from '../core/report/shelf-reports.ts';
import { withoutDoubles } from '../core/shelf/order-packages.ts';
import { selectPackages } from '../core/shelf/select-packages.ts';
import type { ShelvedPackage } from '../core/shelf/shelf-record.ts';
import type { Shelf } from '../io/shelf/shelf.ts';

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
  const findings = selected.map(({ record }) => finding('shelf/removed', record.name, { sha256: record.sha256 }));
  return { ...none, removed: selected, verdict: verdictOf(findings), findings, declined: false };
}
