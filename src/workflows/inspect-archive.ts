import { checkFit } from '../core/checks/fit/check-fit.ts';
import { namesOfFamilies } from '../core/contents/wanted-tree.ts';
import { verdictOf } from '../core/findings/finding.ts';
import { readLabel, readPackageName } from '../core/label/read-label.ts';
import type { InspectReport, Tell } from '../core/report/reports.ts';
import { type ArchiveQuestion, examineArchive, examineDirectory } from './examine-archive.ts';
import type { Ports } from './ports.ts';

export interface InspectRequest extends ArchiveQuestion {
  readonly label: string | undefined;
}

/** Says all that can be said about an archive, and with a label whether they belong together. Writes nothing. */
export async function inspectArchive(
  request: InspectRequest,
  ports: Ports,
  running: { tell: Tell; signal: AbortSignal },
): Promise<InspectReport> {
  const archive = await ports.openArchive(request.archivePath);
  try {
    const { families, familiesNamed } = request;
    const label = request.label === undefined ? undefined : readLabel(request.label, families);
    const named = readPackageName(archive.facts.fileName, families);
    const fit = label === undefined ? [] : checkFit({ label, package: named, families, familiesNamed, wipes: false });
    const names = namesOfFamilies(families);
    const use = { mode: undefined, wantedAtRoot: names.isRecoveryFile, names };
    const directory = examineDirectory(archive, use, request);
    const exam = { ports, running, listeners: [], read: true, keepsData: undefined, label, package: named };
    const examined = await examineArchive(archive, request, exam);
    running.signal.throwIfAborted();
    const findings = [...fit, ...directory, ...examined.findings];
    return { command: 'inspect', verdict: verdictOf(findings), findings, archive: examined.answer, label };
  } finally {
    await archive.close();
  }
}
