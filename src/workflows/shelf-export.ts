import { type Finding, finding } from '../core/findings/finding.ts';
import { verdictOf } from '../core/findings/verdict.ts';
import type { ShelfExportReport } from '../core/report/shelf-reports.ts';
import { withoutDoubles } from '../core/shelf/order-packages.ts';
import { selectPackages } from '../core/shelf/select-packages.ts';
import type { ShelvedPackage } from '../core/shelf/shelf-record.ts';
import type { ExportResult, Shelf } from '../io/shelf/shelf.ts';

export interface ShelfExportRequest {
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
    findings.push(describeExport(shelved, result));
  }
  return { command: 'shelf export', verdict: verdictOf(findings), findings, place: shelf.place, exported };
}

function describeExport({ record }: ShelvedPackage, { state, to }: ExportResult): Finding {
  switch (state) {
    case 'copied':
      return finding('shelf/exported', record.name, { to, bytes: record.bytes });
    case 'there':
      return finding('shelf/export-there', record.name, { to });
    case 'taken':
      return finding('shelf/export-name-taken', record.name, { to });
  }
}
