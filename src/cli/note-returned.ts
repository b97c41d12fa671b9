import { randomUUID } from 'node:crypto';
import { stat } from 'node:fs/promises';
import { isOfPanel } from '../core/contents/sort-contents.ts';
import type { ReturnedReport } from '../core/report/medium-reports.ts';
import { topPaths } from '../core/returned/check-returned.ts';
import { recordWithDigest } from '../core/rounds/records/own-digests.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import { makePorts } from './make-ports.ts';
import { type RoundChoice, roundFolderFor, whoIs } from './round-folder-for.ts';
import { UsageError } from './usage-error.ts';

/** Only a round that somebody named: a stick may be looked at anywhere. */
export async function roundToNote({ round, who }: RoundChoice): Promise<RoundFolder | undefined> {
  if (round === undefined && (process.env.STICKWRIGHT_ROUND ?? '') === '') return undefined;
  const folder = await roundFolderFor({ round, who });
  if ((await stat(folder.place).catch(() => undefined))?.isDirectory()) return folder;
  throw new UsageError(
    `There is no folder of a round at ${folder.place}.`,
    'Check the path, and whether a shared folder is connected.',
  );
}

/** Adds the record, and says so. */
export async function noteReturned(
  round: RoundFolder,
  report: ReturnedReport,
  who: string | undefined,
): Promise<string> {
  if (report.manifest === undefined) {
    return 'Not noted in the round: without a manifest nobody can say which stick it is.\n';
  }
  const ports = makePorts();
  const now = ports.now();
  const left = report.sorted.filter((entry) => entry.isNew && isOfPanel(entry));
  const record = recordWithDigest(
    {
      schema: 'stickwright/round-record/1',
      id: randomUUID(),
      at: now,
      notedAt: now,
      who: whoIs(who),
      kind: 'returned',
      stick: report.manifest.stick,
      state: report.state,
      left: [...topPaths(left, 'panel-mark', 'panel-log', 'panel-file')],
      cleared: report.clearing.state === 'cleared',
    } as const,
    ports.digesting.sha256,
  );
  await round.append([record]);
  return `Noted in the round at ${round.place}.\n`;
}
