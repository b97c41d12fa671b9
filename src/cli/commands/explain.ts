import { isFindingCode } from '../../core/findings/catalogue.ts';
import { renderAllCodes, renderExplanation } from '../../render/text/render-findings.ts';
import { exitCodes } from '../exit-codes.ts';
import { lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export async function runExplain(code: string | undefined): Promise<number> {
  const look = lookOf(process.stdout, process.env);
  if (code !== undefined && !isFindingCode(code)) {
    throw new UsageError(`There is no code ${code}.`, 'All of them: stickwright explain');
  }
  await say(code === undefined ? renderAllCodes(look) : renderExplanation(code, look));
  return exitCodes.ready;
}
