import {
  type ArchiveUse,
  checkArchiveFacts,
  checkDirectoryFacts,
  judgePass,
} from '../core/checks/archive/check-archive-facts.ts';
import { checkLength } from '../core/checks/archive/check-directory.ts';
import {
  checkHashLists,
  checkPublishedHashes,
  digestsFor,
  expectsHash,
  type HashClaim,
  type PublishedHashes,
} from '../core/checks/archive/check-published-hashes.ts';
import { checkUpdatePackage } from '../core/checks/update/check-update-package.ts';
import type { Finding } from '../core/findings/finding.ts';
import type { ArchiveFacts } from '../core/model/archive-facts.ts';
import type { Family } from '../core/model/family.ts';
import type { LabelReading, PackageReading } from '../core/model/panel-identity.ts';
import type { Tell } from '../core/report/reports.ts';
import type { ArchiveAnswer, UpdatePackageFacts } from '../core/update-package/update-package-facts.ts';
import type { Archive, ArchiveReading, PassListener } from '../io/archive/archive.ts';
import type { Ports } from './ports.ts';

/** What a person asks about an archive, in `inspect` and in every `prepare`. */
export interface ArchiveQuestion {
  readonly archivePath: string;
  readonly families: readonly Family[];
  /** The person named the families for this run. */
  readonly familiesNamed: boolean;
  /** The desk takes nobody's word that there is no published hash: neither a family's nor a signer's. */
  readonly hashAlways?: boolean;
  /** Certificates in DER that the person trusts to sign packages. */
  readonly trusted: readonly Uint8Array[];
  /**
   * What the file's hash must be, as the command line or the shelf's record say; files beside it are found by
   * themselves.
   */
  readonly claims?: readonly HashClaim[];
  /** What the file's length must be, as the command line says. */
  readonly expectBytes?: number | undefined;
}

interface Examination {
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
  /** The hashes beside the archive, where they were looked for before. */
  readonly published?: PublishedHashes;
}

interface Examined {
  /** What only reading could show. */
  readonly findings: readonly Finding[];
  /** undefined where the archive was not read, or not to its end. */
  readonly reading: ArchiveReading | undefined;
  readonly answer: ArchiveAnswer;
}

/** What the archive's length, directory, name and shape say, before its content is read. */
export const examineDirectory = (
  { facts, directory }: Archive,
  use: ArchiveUse,
  { expectBytes }: Pick<ArchiveQuestion, 'expectBytes'> = {},
): readonly Finding[] => [
  ...checkLength(facts, expectBytes),
  ...checkDirectoryFacts(directory),
  ...checkArchiveFacts(facts, use),
];

/** Reads an archive once, for all who listen, and says what that showed. An interruption leaves `reading` undefined. */
export async function examineArchive(
  archive: Archive,
  question: ArchiveQuestion,
  exam: Examination,
): Promise<Examined> {
  const { facts } = archive;
  const answer = { facts, package: exam.package, digests: undefined, inside: undefined };
  if (!exam.read) return { findings: [], reading: undefined, answer };
  const { signal } = exam.running;
  const beside = exam.published ?? (await exam.ports.findPublishedHashes(facts.path));
  const claims = [...(question.claims ?? []), ...beside.claims];
  const watch = exam.ports.watchUpdatePackage(facts, { trusted: question.trusted });
  const { seen, findings: ofPass } = judgePass();
  const listener = joinListeners([meterOf(facts, exam.running.tell), { seen }, watch.listener, ...exam.listeners]);
  try {
    const reading = await archive.readThrough(listener, signal, { digests: digestsFor(claims) });
    const inside = await watch.result();
    const families = [...exam.package.readings, ...(exam.label?.readings ?? [])].map(({ family }) => family);
    return {
      findings: [
        ...ofPass(),
        ...checkHashLists(beside.lists),
        ...checkPublishedHashes(claims, reading.digests, expectsHash(families, inside.signature, question.hashAlways)),
        ...judgeInside(exam, inside),
      ],
      reading,
      answer: { ...answer, digests: reading.digests, inside: inside.recognised ? inside : undefined },
    };
  } catch (error) {
    if (!signal.aborted) throw error;
    return { findings: [], reading: undefined, answer };
  }
}

function meterOf({ path: target, bytes: totalBytes }: ArchiveFacts, tell: Tell): PassListener {
  tell({ kind: 'stage', target, stage: 'reading', totalBytes });
  let doneBytes = 0;
  return {
    raw: (chunk) => {
      doneBytes += chunk.byteLength;
      tell({ kind: 'progress', target, stage: 'reading', doneBytes, totalBytes });
    },
  };
}

const judgeInside = ({ keepsData, package: packageReading, label }: Examination, inside: UpdatePackageFacts) =>
  checkUpdatePackage(inside, { keepsData, packageReading, labelReading: label });

type Heard = keyof PassListener;

/** One listener that stands for many. All hear at the same time; the reading waits for the slowest. */
export function joinListeners(listeners: readonly PassListener[]): PassListener {
  const joined: PassListener = {};
  const all = <Name extends Heard>(name: Name): void => {
    const hearing = listeners.filter((listener) => listener[name] !== undefined);
    if (hearing.length === 0) return;
    const hear = (...args: unknown[]): void | Promise<void> => {
      const waiting = hearing
        .map((listener) => (listener[name] as (...args: unknown[]) => void | Promise<void>)(...args))
        .filter((answer) => answer !== undefined);
      return waiting.length === 0 ? undefined : Promise.all(waiting).then(() => {});
    };
    Object.assign(joined, { [name]: hear });
  };
  for (const name of ['raw', 'entryStart', 'entryData', 'entryEnd', 'seen'] as const) all(name);
  return joined;
}
