import { checkUpdatePackage } from '../core/checks/update/check-update-package.ts';
import type { Finding } from '../core/findings/finding.ts';
import type { Family } from '../core/model/family.ts';
import type { LabelReading, PackageReading } from '../core/model/panel-identity.ts';
import type { Tell } from '../core/report/events.ts';
import type { ArchiveAnswer } from '../core/report/reports.ts';
import type { Archive, ArchiveReading, PassListener } from '../io/archive/archive.ts';
import { joinListeners } from './join-listeners.ts';
import type { Ports } from './ports.ts';

/** What a person asks about an archive, in `inspect` and in every `prepare`. */
export interface ArchiveQuestion {
  readonly archivePath: string;
  readonly families: readonly Family[];
  /** The person named the families for this run. */
  readonly familiesNamed: boolean;
  /** Certificates in DER that the person trusts to sign packages. */
  readonly trusted: readonly Uint8Array[];
}

export interface Examination {
  readonly ports: Ports;
  readonly running: { readonly tell: Tell; readonly signal: AbortSignal };
  /** They ride along on the pass. */
  readonly listeners: readonly PassListener[];
  /** false: the content is left unread, because the answer is known already. */
  readonly read: boolean;
  /** undefined where no mode was chosen. */
  readonly keepsData: boolean | undefined;
  readonly label: LabelReading | undefined;
  readonly package: PackageReading;
}

export interface Examined {
  /** What only reading could show. */
  readonly findings: readonly Finding[];
  /** undefined where the archive was not read, or not to its end. */
  readonly reading: ArchiveReading | undefined;
  readonly answer: ArchiveAnswer;
}

/** Reads an archive once, for all who listen, and says what that showed. An interruption leaves `reading` undefined. */
export async function examineArchive(
  archive: Archive,
  question: ArchiveQuestion,
  exam: Examination,
): Promise<Examined> {
  const { facts } = archive;
  const answer = { facts, package: exam.package, digests: undefined, inside: undefined };
  if (!exam.read) return { findings: [], reading: undefined, answer };
  const { tell, signal } = exam.running;
  tell({ kind: 'stage', target: facts.path, stage: 'reading', totalBytes: facts.bytes });
  let doneBytes = 0;
  const meter: PassListener = {
    raw: (chunk) => {
      doneBytes += chunk.byteLength;
      tell({ kind: 'progress', target: facts.path, stage: 'reading', doneBytes, totalBytes: facts.bytes });
    },
  };
  try {
    const watch = exam.ports.watchUpdatePackage(facts, { trusted: question.trusted });
    const reading = await archive.readThrough(joinListeners([meter, watch.listener, ...exam.listeners]), signal);
    const inside = await watch.result();
    const context = { keepsData: exam.keepsData, packageReading: exam.package, labelReading: exam.label };
    return {
      findings: [...reading.findings, ...checkUpdatePackage(inside, context)],
      reading,
      answer: { ...answer, digests: reading.digests, inside: inside.recognised ? inside : undefined },
    };
  } catch (error) {
    if (!signal.aborted) throw error;
    return { findings: [], reading: undefined, answer };
  }
}
