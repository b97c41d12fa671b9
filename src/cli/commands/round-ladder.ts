import { roundLadderDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { renderRoundLadder } from '../../render/text/render-round-record.ts';
import { ladderFor } from '../../workflows/round-status.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { roundDeskFor } from '../round-desk-for.ts';
import { lookOf, say } from '../screen.ts';

export interface RoundLadderOptions {
  readonly label?: string | undefined;
  readonly serial?: string | undefined;
  readonly round?: string | undefined;
  readonly json?: true | undefined;
}

export async function runRoundLadder(room: string, options: RoundLadderOptions): Promise<number> {
  const { label, serial } = options;
  const report = await ladderFor(room, { label, serial }, await roundDeskFor(options));
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(roundLadderDocument(report, exitCode)) : renderRoundLadder(report, look));
  return exitCode;
}
