import { labelDocument, serialise } from '../../render/json/to-json.ts';
import { renderLabelReport } from '../../render/text/render-report.ts';
import { readPanelLabel } from '../../workflows/read-panel-label.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { lookOf, say } from '../screen.ts';

export async function runLabel(
  text: string,
  options: { readonly family: readonly string[]; readonly json?: true | undefined },
): Promise<number> {
  const { families } = await loadFamiliesFor(options.family);
  const report = readPanelLabel(text, families);
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(labelDocument(report, exitCode)) : renderLabelReport(report, look));
  return exitCode;
}
