import { createInterface } from 'node:readline';
import { type Answers, backSign, objectionTo, type Question, withoutFrom } from '../../core/guide/question.ts';
import { type Asking, ask } from './interruption.ts';
import { aside, lookOfAside } from './screen.ts';

interface Keeping {
  readonly keep: (answers: Answers) => Promise<void>;
  /** Asks for a stick: what is plugged in, or is plugged in meanwhile, or a path. */
  readonly stick?: (question: Question) => Promise<string>;
}

/** Asks one question at the terminal and keeps the answer before it is counted; or goes back to an earlier one. */
export async function answerNext(question: Question, answers: Answers, keeping: Keeping): Promise<Answers> {
  const { paragraph } = await import('../../render/text/page.ts');
  if (question.before !== undefined) aside(['', paragraph(question.before, 0, lookOfAside()), ''].join('\n'));
  const given = (await answerOf(question, answers, keeping)).trim();
  const next = given.startsWith(backSign) ? goBack(given.slice(1), answers) : { ...answers, [question.id]: given };
  await keeping.keep(next);
  return next;
}

/** Alone, the sign stands for the question before. */
function goBack(id: string, answers: Answers): Answers {
  const last = Object.keys(answers).at(-1);
  return withoutFrom(answers, id === '' ? (last ?? '') : id);
}

async function answerOf(question: Question, answers: Answers, { stick }: Keeping): Promise<string> {
  switch (question.kind) {
    case 'choice':
      return await choose(question, Object.keys(answers).length > 0);
    case 'plate':
      return await askPlate(question);
    case 'stick':
      if (stick !== undefined) return await stick(question);
      return await askLine(question, async () => undefined);
    case 'file':
      return await askFile(question);
    case 'line':
      return await askLine(question, async () => undefined);
  }
}

async function choose({ text, choices = [], otherwise }: Question, hasEarlier: boolean): Promise<string> {
  const { select } = await import('@inquirer/prompts');
  const { tame } = await import('../../render/text/page.ts');
  const back = hasEarlier ? [{ value: backSign, name: '(back to the question before)' }] : [];
  const shown = [...choices.map(({ value, name }) => ({ value, name: tame(name) })), ...back];
  const start = otherwise === undefined ? {} : { default: otherwise };
  return await ask((asking) => select({ message: tame(text), choices: shown, pageSize: 14, ...start }, asking));
}

/** OBJECTION is what else keeps an answer from being taken. */
async function askLine(
  question: Question,
  objection: (answer: string) => Promise<string | undefined>,
): Promise<string> {
  const { input } = await import('@inquirer/prompts');
  const { tame } = await import('../../render/text/page.ts');
  const { otherwise } = question;
  return await ask((asking) =>
    input(
      {
        message: tame(question.text),
        ...(otherwise === undefined ? {} : { default: otherwise, prefill: 'editable' as const }),
        validate: async (answer) => {
          if (answer.trim().startsWith(backSign)) return true;
          return objectionTo(question, answer) ?? (await objection(answer.trim())) ?? true;
        },
      },
      asking,
    ),
  );
}

/** A path as a person types it, or as it is dragged into the terminal: with quotation marks around it. */
const unquoted = (text: string): string => /^(["'])(.*)\1$/.exec(text.trim())?.[2] ?? text.trim();

async function askFile(question: Question): Promise<string> {
  const { resolve } = await import('node:path');
  const { stat } = await import('node:fs/promises');
  const typed = await askLine(question, async (answer) => {
    const facts = await stat(resolve(unquoted(answer))).catch(() => undefined);
    if (facts === undefined) return `There is no ${unquoted(answer)}.`;
    return facts.isFile() ? undefined : `${unquoted(answer)} is no file.`;
  });
  return typed.startsWith(backSign) ? typed : resolve(unquoted(typed));
}

/** Lines that come as fast as that were pasted together. */
const pasteMs = 150;

/** A line, or all lines that are pasted at once. */
async function askPlate(question: Question): Promise<string> {
  const { tame } = await import('../../render/text/page.ts');
  for (;;) {
    const answer = await ask((asking) => readLines(`? ${tame(question.text)}: `, asking));
    const wrong = answer.trim().startsWith(backSign) ? undefined : objectionTo(question, answer);
    if (wrong === undefined) return answer;
    aside(`> ${tame(wrong)}\n`);
  }
}

function readLines(prompt: string, { output, signal }: Asking): Promise<string> {
  return new Promise((resolve, reject) => {
    const terminal = createInterface({ input: process.stdin, output, terminal: true });
    const lines: string[] = [];
    let timer: NodeJS.Timeout | undefined;
    const end = (settle: () => void): void => {
      clearTimeout(timer);
      signal.removeEventListener('abort', leave);
      settle();
      terminal.close();
    };
    /** As the other prompts end where there is no answer. */
    const leave = (): void => end(() => reject(Object.assign(new Error('no answer'), { name: 'ExitPromptError' })));
    const settle = (): void => {
      // The last line of what was pasted has no end yet: the person gives it.
      if (terminal.line === '') end(() => resolve(lines.join('\n')));
    };
    terminal.on('line', (line) => {
      lines.push(line);
      clearTimeout(timer);
      timer = setTimeout(settle, pasteMs);
    });
    terminal.on('SIGINT', leave);
    terminal.on('close', () => end(() => (lines.length > 0 ? resolve(lines.join('\n')) : leave())));
    signal.addEventListener('abort', leave);
    terminal.setPrompt(prompt);
    terminal.prompt();
  });
}
