import { readKeptList } from '../../io/rounds/copy-list.ts';
import { writeCsv, writeExport } from '../../io/rounds/write-export.ts';
import { renderRoundReport } from '../../render/html/render-round-report.ts';
import { roundExportDocument } from '../../render/json/round-documents.ts';
import { serialise } from '../../render/json/serialise.ts';
import { renderRoundExport } from '../../render/text/render-round-status.ts';
import { exportRound } from '../../workflows/round-status.ts';
import { exitCodeOf } from '../exit-codes.ts';
import { localTime } from '../parse-time.ts';
import { roundDeskFor } from '../round-desk-for.ts';
import { lookOf, say } from '../screen.ts';
import { UsageError } from '../usage-error.ts';

export interface RoundExportOptions {
  readonly csv?: string | undefined;
  readonly report?: string | undefined;
  readonly overwrite?: true | undefined;
  readonly round?: string | undefined;
  readonly json?: true | undefined;
}

export async function runRoundExport(options: RoundExportOptions): Promise<number> {
  checkWords(options);
  const desk = await roundDeskFor(options);
  const report = await exportRound(
    { csv: options.csv, report: options.report },
    {
      ...desk,
      now: () => localTime(new Date(desk.now())),
      keptList: (round) => readKeptList(desk.folder, round),
      writeCsv: (rows, form) => writeCsv(rows, form).bytes,
      renderReport: renderRoundReport,
      write: (path, bytes) => write(path, bytes, options.overwrite === true),
    },
  );
  const exitCode = exitCodeOf(report.verdict);
  // Where the list itself goes to standard output nothing else may stand there.
  const toStdout = [options.csv, options.report].includes('-');
  const stream = toStdout ? process.stderr : process.stdout;
  const text = renderRoundExport(report, lookOf(stream, process.env));
  if (options.json) await say(serialise(roundExportDocument(report, exitCode)));
  else if (toStdout) process.stderr.write(report.findings.length === 0 ? '' : text);
  else await say(text);
  return exitCode;
}

function checkWords({ csv, report, json }: RoundExportOptions): void {
  if (csv === undefined && report === undefined) {
    throw new UsageError(
      'Nothing to write was named.',
      'Say --csv FILE for the list, --report FILE.html for a report to print, or both.',
    );
  }
  const toStdout = [csv, report].filter((path) => path === '-').length;
  if (toStdout > 1 || (toStdout === 1 && json)) {
    throw new UsageError('Two documents cannot both go to standard output.', 'Name a file for one of them.');
  }
}

async function write(path: string, bytes: Uint8Array, replace: boolean): Promise<void> {
  if (path !== '-') return await writeExport(path, bytes, replace);
  await say(bytes);
}
