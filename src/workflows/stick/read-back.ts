import type { DifferingContent } from '../../core/checks/stick/check-written.ts';
import { isUnfinishedWork, stagingFolder } from '../../core/manifest/stick-names.ts';
import { bytesToRead, type LayoutPlan, type PlanItem } from '../../core/model/layout-plan.ts';
import type { ManifestFile } from '../../core/model/manifest.ts';
import type { StickEntry } from '../../core/model/stick-facts.ts';
import { stageOfJob, type Tell } from '../../core/report/reports.ts';
import type { ArchiveReading } from '../../io/archive/archive.ts';
import type { Digesting } from '../../io/digest/digest.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';
import type { Job } from '../ports.ts';

interface FileContent {
  readonly sha256: string;
  readonly crc32: number;
  readonly bytes: number;
  readonly readBack: ReadBackKind;
}

/** What became of one file: its content, or why it could not be read. */
type DigestOutcome = { readonly content: FileContent } | { readonly error: unknown };

interface Digestion {
  readonly digesting: Digesting;
  /** Throws its reason when aborted. */
  readonly signal?: AbortSignal;
  /** Whether the CRC-32 is wanted as well; otherwise it is 0. */
  readonly crc?: boolean;
  readonly heard?: (bytes: number) => void;
}

/** So many files are on their way at once: on a slow stick a small one waits more than it is hashed. */
const sideBySide = 4;

/** Throws why a file could not be read. */
export function contentOf(outcome: DigestOutcome | undefined): FileContent {
  if (outcome === undefined) throw new Error('a file was not read');
  if ('error' in outcome) throw outcome.error;
  return outcome.content;
}

/**
 * Reads files from the stick, around the cache where that is possible. Answers in the order of the files. Throws the
 * signal's reason; a file that cannot be read is an outcome, and the others are read.
 */
export async function digestFiles(
  volume: Volume,
  files: readonly { readonly path: string }[],
  how: Digestion,
): Promise<readonly DigestOutcome[]> {
  const outcomes: DigestOutcome[] = new Array(files.length);
  const waiting = files.entries();
  const lane = async (): Promise<void> => {
    for (const [index, { path }] of waiting) {
      if (how.signal?.aborted) return;
      outcomes[index] = await digestFile(volume, path, how).then(
        (content) => ({ content }),
        (error: unknown) => ({ error }),
      );
    }
  };
  // All end before an interruption is told: whoever hears it may close the volume.
  await Promise.all(Array.from({ length: sideBySide }, lane));
  how.signal?.throwIfAborted();
  return outcomes;
}

async function digestFile(volume: Volume, path: string, how: Digestion): Promise<FileContent> {
  const reader = await volume.open(path, 'fresh');
  const digest = how.digesting.start(how.crc === true);
  let bytes = 0;
  for await (const chunk of reader.chunks()) {
    how.signal?.throwIfAborted();
    digest.update(chunk);
    bytes += chunk.byteLength;
    how.heard?.(chunk.byteLength);
  }
  return { ...digest.end(), bytes, readBack: reader.readBack };
}

/** SHA-256 of every wanted file as the archive gave it, by path. */
export type ExpectedContent = ReadonlyMap<string, string>;

export function expectedContent({ wanted }: Job, { digests, entries }: ArchiveReading): ExpectedContent {
  const byName = new Map(entries.map(({ name, sha256 }) => [name, sha256]));
  return new Map(
    wanted.files.map(({ path, origin }) => [
      path,
      (origin.from === 'archive' ? digests.sha256 : byName.get(origin.name)) ?? '',
    ]),
  );
}

interface ReadBack {
  readonly files: readonly ManifestFile[];
  readonly differing: readonly DifferingContent[];
  readonly kind: ReadBackKind;
}

type Item = Extract<PlanItem, { action: 'write' | 'keep' }>;

const itemsOfContent = ({ items }: LayoutPlan): readonly Item[] =>
  items.filter((item): item is Item => item.action === 'write' || item.action === 'keep');

/** Reads every written and every kept file from the stick and compares it with what the archive gave. */
export async function readBack(
  volume: Volume,
  plan: LayoutPlan,
  expected: ExpectedContent,
  digesting: Digesting,
  { tell, signal }: { tell: Tell; signal: AbortSignal },
): Promise<ReadBack> {
  const { target } = volume.facts;
  const wanted = itemsOfContent(plan);
  const totalBytes = bytesToRead(plan);
  const files: ManifestFile[] = [];
  const differing: DifferingContent[] = [];
  let kind: ReadBackKind = 'medium';
  let doneBytes = 0;
  const stage = 'reading-back';
  tell(stageOfJob(target, stage, plan));
  const outcomes = await digestFiles(
    volume,
    wanted.map((item) => ({ path: pathNow(item) })),
    {
      digesting,
      signal,
      heard: (bytes) => {
        doneBytes += bytes;
        tell({ kind: 'progress', target, stage, doneBytes, totalBytes });
      },
    },
  );
  for (const [index, item] of wanted.entries()) {
    const sha256 = expected.get(item.path) ?? 'none';
    const got = contentOf(outcomes[index]);
    if (got.readBack === 'cache') kind = 'cache';
    if (got.sha256 === sha256) {
      files.push({ path: item.path, bytes: item.bytes, sha256 });
      if (item.action === 'keep') tell({ kind: 'item', target, item });
    } else {
      differing.push({ path: item.path, expected: sha256, got: got.sha256 });
    }
  }
  return { files, differing, kind };
}

/** Where the file of an item lies while the final names are not given. */
interface Planned {
  readonly plan: LayoutPlan;
  readonly survey: { readonly entries: readonly StickEntry[] };
  /** The drive was read, and what cannot be relied on there is not kept. */
  readonly isMediumRead: boolean;
}

/** Linux's vfat looks into the table for what is longer than a cluster, and reads nothing that it does not hold. */
const mostInOneCluster = 65_536;

/**
 * Which of the files that an earlier run left, and that were kept, do not hold any more what they should, when all else
 * is written. After a cut the volume may take their place for free, which only the drive itself tells: where this
 * account may not read it, what was written since may lie over them.
 */
export async function findHarmed(
  volume: Volume,
  { plan, survey, isMediumRead }: Planned,
  expected: ExpectedContent,
  digesting: Digesting,
): Promise<readonly DifferingContent[]> {
  if (isMediumRead || !survey.entries.some(({ path }) => isUnfinishedWork(path))) return [];
  const isDoubtful = ({ action, bytes }: Item): boolean =>
    action === 'keep' && (bytes <= mostInOneCluster || volume.facts.fileSystem === 'exfat');
  const kept = itemsOfContent(plan).filter(isDoubtful);
  const outcomes = await digestFiles(volume, kept, { digesting });
  return kept.flatMap(({ path }, index) => {
    const [wanted, got] = [expected.get(path) ?? 'none', contentOf(outcomes[index]).sha256];
    return got === wanted ? [] : [{ path, expected: wanted, got }];
  });
}

const pathNow = (item: Item): string =>
  item.action === 'write' || item.staged ? `${stagingFolder}/${item.path}` : item.path;
