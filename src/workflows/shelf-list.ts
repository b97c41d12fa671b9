import { checkOpen } from '../core/checks/shelf/check-chosen.ts';
import { checkListing } from '../core/checks/shelf/check-listing.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { ShelfListReport } from '../core/report/shelf-reports.ts';
import { withoutDoubles } from '../core/shelf/order-packages.ts';
import { selectPackages } from '../core/shelf/select-packages.ts';
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
