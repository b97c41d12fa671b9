import { verdictOf } from '../core/findings/finding.ts';
import { failureOf, hasCode } from '../core/model/tool-error.ts';
import type { Tell } from '../core/report/reports.ts';
import type { ShelfCheckReport } from '../core/report/shelf-reports.ts';
import { checkShelfFacts, type Reread } from '../core/shelf/check-shelf.ts';
import { byFamilyAndName } from '../core/shelf/index-shelf.ts';
import { selectPackages } from '../core/shelf/select-packages.ts';
import type { ShelvedPackage } from '../core/shelf/shelf-record.ts';
import type { Shelf } from '../io/shelf/shelf.ts';

interface Running {
  readonly tell: Tell;
  readonly signal: AbortSignal;
}

/** Reads every package on the shelf again, or those named, and compares it with its record. Goes on past damage. */
export async function checkShelf(words: readonly string[], shelf: Shelf, running: Running): Promise<ShelfCheckReport> {
  const { packages, damaged } = await shelf.list();
  const { selected, findings: unknown } = selectPackages(words, packages);
  const chosen = words.length > 0 ? selected : packages.toSorted(byFamilyAndName);
  const totalBytes = chosen.reduce((sum, { record }) => sum + record.bytes, 0);
  running.tell({ kind: 'stage', target: shelf.place, stage: 'reading', totalBytes });
  let bytesRead = 0;
  const heard = (bytes: number): void => {
    bytesRead += bytes;
    running.tell({ kind: 'progress', target: shelf.place, stage: 'reading', doneBytes: bytesRead, totalBytes });
  };
  const reread: { shelved: ShelvedPackage; content: Reread }[] = [];
  for (const shelved of chosen) {
    reread.push({ shelved, content: await readAgain(shelved, shelf, heard, running.signal) });
  }
  const leftovers = words.length === 0 ? await shelf.leftovers() : undefined;
  const findings = checkShelfFacts({ place: shelf.place, packages, damaged, unknown, reread, leftovers });
  return {
    command: 'shelf check',
    verdict: verdictOf(findings),
    place: shelf.place,
    packagesRead: chosen.length,
    bytesRead,
    findings,
  };
}

async function readAgain(
  one: ShelvedPackage,
  shelf: Shelf,
  heard: (bytes: number) => void,
  signal: AbortSignal,
): Promise<Reread> {
  try {
    return { state: 'read', ...(await shelf.digest(one, heard, signal)) };
  } catch (error) {
    if (signal.aborted) throw error;
    if (!hasCode(error, 'file/not-found')) return { state: 'unreadable', problem: failureOf(error).message };
    // Removed by another desk since it was listed, or missing from its folder.
    const still = (await shelf.list()).packages.some(({ id }) => id === one.id);
    return { state: still ? 'missing' : 'gone' };
  }
}
