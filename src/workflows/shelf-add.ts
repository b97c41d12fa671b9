import { namesOfFamilies } from '../core/contents/wanted-tree.ts';
import { verdictOf, withAccepted, worstOf } from '../core/findings/finding.ts';
import { readPackageName } from '../core/label/read-label.ts';
import { failureOf } from '../core/model/tool-error.ts';
import type { ShelfAddition, ShelfAddReport } from '../core/report/shelf-reports.ts';
import { checkNewName } from '../core/shelf/check-newcomer.ts';
import { checkMade } from '../core/shelf/check-shelf.ts';
import type { Archive } from '../io/archive/archive.ts';
import { examineArchive, examineDirectory } from './examine-archive.ts';
import { placeOnShelf, type ShelfAddWork } from './shelf-place.ts';

/**
 * Inspects archives in one pass each and keeps those that are sound, with what was found. One that fails does not stop
 * the others.
 */
export async function addToShelf(work: ShelfAddWork): Promise<ShelfAddReport> {
  const additions: ShelfAddition[] = [];
  for (const archivePath of work.request.archivePaths) {
    work.running.signal.throwIfAborted();
    additions.push(await addOne(archivePath, work));
  }
  return {
    command: 'shelf add',
    verdict: worstOf(additions.map(({ verdict }) => verdict)),
    place: work.shelf.place,
    additions,
    findings: checkMade(work.shelf.place, work.made),
  };
}

async function addOne(archivePath: string, work: ShelfAddWork): Promise<ShelfAddition> {
  try {
    const archive = await work.ports.openArchive(archivePath);
    try {
      return await takeIn(archive, work);
    } finally {
      await archive.close();
    }
  } catch (error) {
    return {
      archivePath,
      state: 'failed',
      verdict: 'not-ready',
      findings: [],
      shelved: undefined,
      error: failureOf(error),
    };
  }
}

/** One pass over the archive, in which it is inspected and its bytes are kept; then the answer decides. */
async function takeIn(archive: Archive, work: ShelfAddWork): Promise<ShelfAddition> {
  const { request, shelf, ports, running } = work;
  const { families, accepted } = request;
  const { fileName, path } = archive.facts;
  const before = await shelf.list();
  const names = namesOfFamilies(families);
  const use = { mode: undefined, wantedAtRoot: names.isRecoveryFile, names };
  const known = withAccepted([...checkNewName(fileName, families), ...examineDirectory(archive, use)], accepted);
  const incoming = verdictOf(known) === 'not-ready' ? undefined : await shelf.beginAdd(fileName);
  try {
    const question = { ...request, archivePath: path };
    const examined = await examineArchive(archive, question, {
      ports,
      running,
      listeners: incoming === undefined ? [] : [incoming.listener],
      read: true,
      keepsData: undefined,
      label: undefined,
      package: readPackageName(fileName, families),
    });
    running.signal.throwIfAborted();
    const findings = [...known, ...withAccepted(examined.findings, accepted)];
    const sha256 = examined.reading?.digests.sha256;
    if (incoming === undefined || sha256 === undefined || verdictOf(findings) === 'not-ready') {
      return {
        archivePath: path,
        state: 'refused',
        verdict: 'not-ready',
        findings,
        shelved: undefined,
        error: undefined,
      };
    }
    const newcomer = {
      archivePath: path,
      answer: examined.answer,
      sha256,
      findings,
      incoming,
      before: before.packages,
    };
    const placed = await placeOnShelf(newcomer, work);
    return { ...placed, archivePath: path, verdict: verdictOf(placed.findings), error: undefined };
  } finally {
    await incoming?.discard();
  }
}
