import { isOfPanel } from '../core/contents/content-kinds.ts';
import type { RoundRecord } from '../core/model/round-record.ts';
import type { ReturnedReport } from '../core/report/medium-reports.ts';
import { topPaths } from '../core/returned/check-returned.ts';
import { roundRecordWithDigest } from '../core/rounds/records/own-digests.ts';
import type { RoundDesk } from './round-desk.ts';

/**
 * Adds to a round what a stick brought back from its panel. Undefined, and nothing added, where the stick carries no
 * manifest: nobody can say which stick it is.
 */
export async function noteReturned(
  { manifest, sorted, state, clearing }: ReturnedReport,
  who: string,
  { folder, sha256, now, newId }: Omit<RoundDesk, 'families'>,
): Promise<RoundRecord | undefined> {
  if (manifest === undefined) return undefined;
  const at = now();
  const left = sorted.filter((entry) => entry.isNew && isOfPanel(entry.what));
  const record = roundRecordWithDigest(
    {
      schema: 'stickwright/round-record/1',
      id: newId(),
      at,
      notedAt: at,
      who,
      kind: 'returned',
      stick: manifest.stick,
      state,
      left: [...topPaths(left, 'panel-mark', 'panel-log', 'panel-file')],
      cleared: clearing.state === 'cleared',
    } as const,
    sha256,
  );
  await folder.append([record]);
  return record;
}
