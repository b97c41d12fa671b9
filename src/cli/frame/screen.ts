import { systemWordOf } from '../../core/model/tool-error.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { visible } from '../../core/text/visible.ts';
import type { Look } from '../../render/text/page.ts';

interface Stream {
  readonly isTTY?: boolean;
  readonly columns?: number;
}

/** What every command takes. */
export interface WordsOfAll {
  readonly quiet?: true;
  readonly verbose?: true;
  readonly color?: string;
  readonly debug?: true;
  readonly yes?: true;
  readonly dryRun?: true;
}

let talk: WordsOfAll = {};

/** How much is said in this run, and in which colour: the word beats the variables. */
export function setTalk(words: WordsOfAll): void {
  talk = words;
  if (words.color === undefined || words.color === 'auto') return;
  // Prompts look there too.
  process.env.NO_COLOR = words.color === 'never' ? '1' : '';
  process.env.FORCE_COLOR = words.color === 'always' ? '1' : '0';
}

/** Whether a person wants to see where in the code something went wrong. */
export const showsStacks = (): boolean => talk.debug === true;

/** Whether a stream takes colour: NO_COLOR and FORCE_COLOR (no-color.org, force-color.org), TERM=dumb, a terminal. */
export function takesColour(stream: Stream, environment: NodeJS.ProcessEnv): boolean {
  if ((environment.NO_COLOR ?? '') !== '') return false;
  if ((environment.FORCE_COLOR ?? '') !== '') return environment.FORCE_COLOR !== '0';
  return stream.isTTY === true && environment.TERM !== 'dumb';
}

export const lookOf = (stream: Stream, environment: NodeJS.ProcessEnv): Look => ({
  colour: takesColour(stream, environment),
  columns: Math.min(stream.columns || 80, 120),
});

/** Whether somebody sits here who reads and can be asked. */
export const isInteractive = (): boolean => process.stdin.isTTY === true && process.stderr.isTTY === true;

let lost: Error | undefined;
const unreadable = new AbortController();

/** Aborted when nothing more can be written to stdout: for what would go on until nobody reads it. */
export const readerLeft: AbortSignal = unreadable.signal;

/**
 * Listens for what cannot be written: a full disk behind `>`, say. The work goes on as if it could, and is told
 * afterwards by the exit code. A reader that went away (`| head`) ends it quietly, also where commander writes.
 */
export function watchOutput(): void {
  const hear = (error: Error): void => {
    if (systemWordOf(error) !== 'EPIPE') lost ??= error;
  };
  process.stdout.on('error', hear);
  process.stdout.on('error', () => unreadable.abort());
  process.stderr.on('error', hear);
}

/** Resolves when all that was written is out, or is known not to be. */
export async function outputSettled(): Promise<void> {
  for (const stream of [process.stdout, process.stderr])
    await new Promise<void>((resolve) => stream.write('', () => setImmediate(resolve)));
}

/** Why something that was to be read by a person or a script was not written; undefined where all was. */
export const lostOutput = (): Error | undefined => lost;

/** Writes a whole answer to stdout; resolves when it is out, or cannot be: see `watchOutput`. */
export const say = (answer: string | Uint8Array): Promise<void> =>
  new Promise<void>((resolve) => process.stdout.write(answer, () => resolve()));

/** A document on one line. */
export const sayDocument = (document: ReportDocument): Promise<void> => say(`${JSON.stringify(document)}\n`);

/** How it is to look there. */
export const lookOfAside = (): Look => lookOf(process.stderr, process.env);

/**
 * Says on stderr what is no part of the answer. The text is ours; what strangers wrote in it was made visible before.
 */
export const aside = (text: string): void => void process.stderr.write(text);

/** The same for a line that may hold anything. */
export const note = (line: string): void => {
  if (talk.quiet !== true) aside(`${visible(line)}\n`);
};

/** Only for who asked to hear more. */
export const remark = (line: string): void => {
  if (talk.verbose === true) aside(`${visible(line)}\n`);
};
