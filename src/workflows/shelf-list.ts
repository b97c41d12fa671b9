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
  const findings = [...checkListing(packages, listing.damaged), ...unknown];
  const whole = words.length > 0;
  return {
    command: 'shelf list',
    verdict: verdictOf(findings),
    place: shelf.place,
    packages: whole ? selected : packages,
    whole,
    findings,
  };
}
