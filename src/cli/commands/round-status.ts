import { roundStatusDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { renderRoundStatus } from '../../render/text/render-round-status.ts';
import { roundStatus } from '../../workflows/round-status.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { roundDeskFor } from '../round-desk-for.ts';
import { lookOf, say } from '../screen.ts';

export interface RoundStatusOptions {
  readonly round?: string | undefined;
  readonly json?: true | undefined;
}

export async function runRoundStatus(options: RoundStatusOptions): Promise<number> {
  const report = await roundStatus(await roundDeskFor(options));
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(roundStatusDocument(report, exitCode)) : renderRoundStatus(report, look));
  return exitCode;
}
