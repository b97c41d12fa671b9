import type { DifferingContent } from '../../core/checks/stick/check-written.ts';
import { stagingFolder } from '../../core/manifest/stick-names.ts';
import type { LayoutPlan, PlanItem } from '../../core/model/layout-plan.ts';
import type { ManifestFile } from '../../core/model/manifest.ts';
import type { Tell } from '../../core/report/reports.ts';
import type { ArchiveReading } from '../../io/archive/archive.ts';
import type { Digesting } from '../../io/digest/digest.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';
import type { Job } from '../ports.ts';
import { contentOf, digestFiles } from './digest-files.ts';

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

export interface ReadBack {
  readonly files: readonly ManifestFile[];
  readonly differing: readonly DifferingContent[];
  readonly kind: ReadBackKind;
}

type Item = Extract<PlanItem, { action: 'write' | 'keep' }>;

/** Reads every written and every kept file from the stick and compares it with what the archive gave. */
export async function readBack(
  volume: Volume,
  plan: LayoutPlan,
  expected: ExpectedContent,
  digesting: Digesting,
  { tell, signal }: { tell: Tell; signal: AbortSignal },
): Promise<ReadBack> {
  const { target } = volume.facts;
  const wanted = plan.items.filter((item): item is Item => item.action === 'write' || item.action === 'keep');
  const totalBytes = wanted.reduce((sum, { bytes }) => sum + bytes, 0);
  const files: ManifestFile[] = [];
  const differing: DifferingContent[] = [];
  let kind: ReadBackKind = 'medium';
  let doneBytes = 0;
  tell({ kind: 'stage', target, stage: 'reading-back', totalBytes });
  const outcomes = await digestFiles(
    volume,
    wanted.map((item) => ({ path: pathNow(item) })),
    {
      digesting,
      signal,
      heard: (bytes) => {
        doneBytes += bytes;
        tell({ kind: 'progress', target, stage: 'reading-back', doneBytes, totalBytes });
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
const pathNow = (item: Item): string =>
  item.action === 'write' || item.staged ? `${stagingFolder}/${item.path}` : item.path;
