import { type Finding, finding, verdictOf } from '../core/findings/finding.ts';
import { ToolError } from '../core/model/tool-error.ts';
import type { Tell } from '../core/report/reports.ts';
import type { ShelfCheckReport } from '../core/report/shelf-reports.ts';
import { checkOpen } from '../core/shelf/check-chosen.ts';
import { checkListing } from '../core/shelf/check-newcomer.ts';
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
  const findings = [...checkListing(packages, damaged), ...unknown];
  let bytesRead = 0;
  let sound = 0;
  let soundBytes = 0;
  for (const one of chosen) {
    const heard = (bytes: number): void => {
      bytesRead += bytes;
      running.tell({ kind: 'progress', target: shelf.place, stage: 'reading', doneBytes: bytesRead, totalBytes });
    };
    const rot = await checkContent(one, shelf, heard, running.signal);
    if (rot !== undefined) findings.push(rot);
    else {
      sound += 1;
      soundBytes += one.record.bytes;
    }
  }
  findings.push(...chosen.flatMap(({ record }) => checkOpen(record)));
  if (words.length === 0) findings.push(...(await checkLeftovers(packages, shelf)));
  if (sound > 0) findings.push(finding('shelf/sound', shelf.place, { packages: sound, bytes: soundBytes }));
  return {
    command: 'shelf check',
    verdict: verdictOf(findings),
    place: shelf.place,
    packagesRead: chosen.length,
    bytesRead,
    findings,
  };
}

async function checkContent(
  one: ShelvedPackage,
  shelf: Shelf,
  heard: (bytes: number) => void,
  signal: AbortSignal,
): Promise<Finding | undefined> {
  const { record } = one;
  try {
    const content = await shelf.digest(one, heard, signal);
    if (content.sha256 === record.sha256) return undefined;
    const facts = { expected: record.sha256, got: content.sha256, bytes: record.bytes, gotBytes: content.bytes };
    return finding('shelf/content-changed', record.name, facts);
  } catch (error) {
    if (!(error instanceof ToolError) || signal.aborted) throw error;
    if (error.code !== 'file/not-found')
      return finding('shelf/content-unreadable', record.name, { problem: error.message });
    // Removed by another desk since it was listed, or missing from its folder.
    const still = (await shelf.list()).packages.some(({ id }) => id === one.id);
    return still ? finding('shelf/content-missing', record.name, { id: one.id }) : undefined;
  }
}

async function checkLeftovers(packages: readonly ShelvedPackage[], shelf: Shelf): Promise<readonly Finding[]> {
  const { strangers, unfinished } = await shelf.leftovers();
  const nameOf = new Map(packages.map(({ id, record }) => [id, record.name]));
  // Of a folder whose record is damaged that is said already.
  const foreign = strangers.filter(({ id, name }) => id === undefined || (nameOf.has(id) && nameOf.get(id) !== name));
  return [
    ...foreign.map(({ name, where }) => finding('shelf/stranger', name, { where })),
    ...unfinished.map(({ name, bytes, since }) => finding('shelf/unfinished', name, { bytes, since })),
  ];
}
