import type { Verdict } from '../../core/findings/finding.ts';
import { objectionToSetting, settings } from '../../core/model/settings.ts';
import { applySettings } from '../../io/files/settings-file.ts';
import { toolVersion } from '../words.ts';
import type { AnyCommand, Frame } from './command.ts';
import { exitCodeOf, UsageError } from './exit-codes.ts';
import { watchInterruption } from './interruption.ts';
import { type Progress, startProgress, tellProgress } from './progress.ts';
import { showBug } from './report-failure.ts';
import { lookOf, remark, say, sayDocument, setTalk, type WordsOfAll } from './screen.ts';

/**
 * Runs one command with what its words said, as commander hands it over: arguments, options, and the command itself.
 * The one place where signals are heard, progress is drawn, the answer is said in words or as one JSON document, and
 * the exit code is found. Throws what kept the command from an answer.
 */
export async function runCommand(command: AnyCommand, handed: readonly unknown[]): Promise<number> {
  const words = handed.slice(0, -1);
  const options = words.at(-1) as WordsOfAll & { readonly json?: true };
  const { json } = options;
  setTalk(options);
  if (command.withoutSettings !== true) useSettings();
  const quiet = options.quiet === true;
  const look = lookOf(process.stdout, process.env);
  remark(`stickwright ${toolVersion}, Node ${process.versions.node}, ${process.platform}`);
  const interruption = watchInterruption(process.stderr);
  let progress: Progress | undefined;
  const answer = async (report: { readonly verdict: Verdict }): Promise<number> => {
    progress?.end();
    const exitCode = command.exitCode?.(report) ?? exitCodeOf(report.verdict);
    if (json && command.json !== undefined) await sayDocument(await command.json(report, exitCode));
    else await say(await command.text(report, look));
    for (const fault of command.faults?.(report) ?? []) showBug(fault);
    return exitCode;
  };
  const frame: Frame = {
    look,
    json: json === true,
    atWork: (mayStop) => {
      progress ??= json === true ? tellProgress(process.stderr, options) : startProgress(process.stderr, { quiet });
      return { tell: progress.tell, signal: interruption.take(mayStop) };
    },
    show: async (text) => {
      progress?.end();
      // What somebody is asked about is shown however quiet it is to be.
      if (!json && !(quiet && (options.yes || options.dryRun))) await say(text);
    },
    answer,
  };
  const run = async (): Promise<readonly [number, unknown?]> => {
    const ending = await interruption.orCutOff(command.run(...words, frame));
    return typeof ending === 'number' ? [ending] : [await answer(ending as { readonly verdict: Verdict }), ending];
  };
  const [exitCode, report] = await run().finally(() => {
    progress?.end();
    interruption.end();
  });
  if (report !== undefined) await command.afterwards?.(report);
  return exitCode;
}

/** What the desk says once. A rule that is misspelt must not be taken for none. */
function useSettings(): void {
  applySettings(process.env);
  for (const setting of settings) {
    const value = process.env[setting.variable] ?? '';
    const wrong = setting.kind === 'choice' && value !== '' ? objectionToSetting(setting, value) : undefined;
    if (wrong !== undefined)
      throw new UsageError(`${setting.variable}: ${wrong}`, 'stickwright settings says where each value comes from.');
  }
}
