import { text as readAll } from 'node:stream/consumers';
import type { Family } from '../../core/model/family.ts';
import { readTextFile } from '../../io/files/regular-file.ts';
import { serialise } from '../../render/json/serialise.ts';
import { labelDocument, labelListDocument } from '../../render/json/to-json.ts';
import { renderLabelList, renderLabelReport } from '../../render/text/render-report.ts';
import { readLabelList, readPanelLabel } from '../../workflows/read-panel-label.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { loadFamiliesFor } from '../load-families-for.ts';
import { lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface LabelOptions {
  readonly again?: string | undefined;
  readonly list?: string | undefined;
  readonly family: readonly string[];
  readonly json?: true | undefined;
}

export async function runLabel(text: string | undefined, options: LabelOptions): Promise<number> {
  if ((text === undefined) === (options.list === undefined)) {
    throw new UsageError(
      'One label, or a list of them, is needed.',
      'stickwright label "K2-second 75/5B", or: stickwright label --list FILE',
    );
  }
  const { families } = await loadFamiliesFor(options.family);
  if (options.list !== undefined) return sayList(await readList(options.list), families, options);
  const report = readPanelLabel(text ?? '', options.again, families);
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(options.json ? serialise(labelDocument(report, exitCode)) : renderLabelReport(report, look));
  return exitCode;
}

async function sayList(text: string, families: readonly Family[], { json }: LabelOptions): Promise<number> {
  const report = readLabelList(text, families);
  const exitCode = exitCodeOf(report.verdict);
  const look = lookOf(process.stdout, process.env);
  await say(json ? serialise(labelListDocument(report, exitCode)) : renderLabelList(report, look));
  return exitCode;
}

const readList = async (path: string): Promise<string> => (path === '-' ? readAll(process.stdin) : readTextFile(path));
