import { roundMergeDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { renderRoundMerge } from '../../render/text/render-round-record.ts';
import { mergeRounds } from '../../workflows/round-status.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { roundFolderFor } from '../round-folder-for.ts';
import { lookOf, say } from '../screen.ts';

export interface RoundMergeOptions {
  readonly round?: string | undefined;
  readonly json?: true | undefined;
}

export async function runRoundMerge(sources: readonly string[], options: RoundMergeOptions): Promise<number> {
  const report = await mergeRounds(sources, await roundFolderFor(options));
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(roundMergeDocument(report, exitCode)) : renderRoundMerge(report, look));
  return exitCode;
}
