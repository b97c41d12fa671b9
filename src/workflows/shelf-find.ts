import { verdictOf } from '../core/findings/verdict.ts';
import type { Family } from '../core/model/family.ts';
import type { ShelfFindReport } from '../core/report/shelf-reports.ts';
import { findOnShelf } from '../core/shelf/find-on-shelf.ts';
import { withoutDoubles } from '../core/shelf/order-packages.ts';
import { prepareCommand } from '../core/shelf/prepare-command.ts';
import type { Shelf } from '../io/shelf/shelf.ts';

export interface ShelfFindRequest {
  readonly label: string;
  readonly running: string | undefined;
  readonly families: readonly Family[];
  /** Words of this command that the next one needs too: `--shelf DIR`, `--family FILE`. */
  readonly options: readonly string[];
}

/** The newest package on the shelf for exactly this label, and the way there from what the panel runs. Reads records only. */
export async function findPackageOnShelf(request: ShelfFindRequest, shelf: Shelf): Promise<ShelfFindReport> {
  const { packages, damaged } = await shelf.list();
  const answer = findOnShelf({ ...request, packages: withoutDoubles(packages), damaged });
  const verdict = verdictOf(answer.findings);
  const prepare = answer.chosen === undefined || verdict === 'not-ready' ? undefined : prepareCommand(request);
  return { command: 'shelf find', verdict, findings: answer.findings, place: shelf.place, answer, prepare };
}
