import type { Command, OptionValues } from '@commander-js/extra-typings';
import type { Verdict } from '../../core/findings/finding.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import type { Tell } from '../../core/report/reports.ts';
import type { Look } from '../../render/text/page.ts';
import { addExamples, exitCodesHelp, wordsOfAll } from '../words.ts';
import type { MayStop } from './interruption.ts';

/** What the frame does for a command while it runs. */
export interface Frame {
  /** How the answer is to look where it goes. */
  readonly look: Look;
  /** Whether one JSON document was asked for, so that nobody is here to read and to be asked. */
  readonly json: boolean;
  /**
   * For work that tells how far it is, and that stops at a clean place when the signal says so. Before this, a signal
   * cuts off. Ctrl-C asks MAY STOP first, where it is given; pressed again meanwhile it stops.
   */
  readonly atWork: (mayStop?: MayStop) => { readonly tell: Tell; readonly signal: AbortSignal };
  /** Shows a person what comes before the answer: a plan, say. With --json it shows nothing. */
  readonly show: (text: string) => Promise<void>;
  /** Says the answer: for commands that have several. One that a command returns is said by the frame. */
  readonly answer: (report: { readonly verdict: Verdict }) => Promise<number>;
}

/** A report, or the exit code where all was said already. */
type Ending<Report> = Report | number;

/** Words that are needed unless another stands in for them: `{ archive: '--from-shelf' }`. */
export type Instead = Readonly<Record<string, string>>;

interface CommandParts<Args extends unknown[], Options extends OptionValues, Report extends { verdict: Verdict }> {
  /** Its description, arguments and options. */
  readonly words: (it: Command) => Command<Args, Options>;
  readonly examples: readonly string[];
  readonly instead?: Instead;
  /** What its exit codes mean, where that is not what they usually do. */
  readonly codes?: string;
  /** One workflow. It imports what it needs itself, when it runs: the help of a command must not wait for its code. */
  readonly run: (...words: [...Args, Options, Frame]) => Promise<Ending<Report>>;
  readonly text: (report: Report, look: Look) => Promise<string>;
  /** Exactly where the words have --json. */
  readonly json?: (report: Report, exitCode: number) => Promise<ReportDocument>;
  /** It must run although the desk's file of settings cannot be used. */
  readonly withoutSettings?: true;
  /** Where it is not that of the verdict. */
  readonly exitCode?: (report: Report) => number;
  /** What went wrong with one stick of several: a bug among it shows its stack. */
  readonly faults?: (report: Report) => readonly unknown[];
  /** What is left to do when all is said; it changes no exit code. */
  readonly afterwards?: (report: Report) => Promise<unknown>;
}

/** One that does not say any more what it takes and answers: the list and the frame do not ask. */
export interface AnyCommand {
  readonly words: (it: Command) => Command;
  readonly examples: readonly string[];
  readonly instead?: Instead;
  readonly codes?: string;
  readonly run: (...words: unknown[]) => Promise<unknown>;
  readonly text: (report: unknown, look: Look) => Promise<string>;
  readonly json?: (report: unknown, exitCode: number) => Promise<ReportDocument>;
  readonly withoutSettings?: true;
  readonly exitCode?: (report: unknown) => number;
  readonly faults?: (report: unknown) => readonly unknown[];
  readonly afterwards?: (report: unknown) => Promise<unknown>;
}

/** Types are followed from the words to the run, and from the run to the renderers; after that nobody needs them. */
export const command = <Args extends unknown[], Options extends OptionValues, Report extends { verdict: Verdict }>(
  parts: CommandParts<Args, Options, Report>,
): AnyCommand => parts as unknown as AnyCommand;

const partsOfCommands = new WeakMap<Command, AnyCommand>();

/** What a command of the command line is; undefined for a group and for one that the words do not name. */
export const partsOf = (it: Command): AnyCommand | undefined => partsOfCommands.get(it);

/** Puts the words of a command where the command line is read; what is read is run in the frame. */
export function addWords(it: Command, parts: AnyCommand, run: (all: unknown[]) => Promise<void>) {
  const { words, examples: lines, codes } = parts;
  partsOfCommands.set(it, parts);
  const filled = words(it);
  for (const word of wordsOfAll()) filled.addOption(word);
  addExamples(it, lines, codes ?? exitCodesHelp);
  filled.action((...all: unknown[]) => run(all));
}
