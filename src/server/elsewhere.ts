import { setTimeout as wait } from 'node:timers/promises';
import type { Context, Handler } from 'hono';
import type { AnswerHandedBack, FromProcess, ToProcess } from './process-talk.ts';
import type { DeskProcess, Processes } from './processes.ts';
import { refusal } from './routes/body.ts';

/** More than a room list of the largest kind. */
const largestBody = 40_000_000;

/** What is being answered when the desk is closed may come to its end for so long. */
const patienceMs = 5000;

/**
 * Has requests answered in a process of their own, one for all of them: what reads, plans and prints lists of thousands
 * of rooms takes seconds, and no other page waits for it. It is started when the first one comes.
 */
export class Elsewhere {
  readonly #processes: Processes;
  readonly #hear: (message: FromProcess) => void;
  readonly #waiting = new Map<number, (answer: AnswerHandedBack | Error) => void>();
  #process: DeskProcess | undefined;
  #asked = 0;

  /** HEAR hears what the process says of anything but its answers. */
  constructor(processes: Processes, hear: (message: FromProcess) => void) {
    this.#processes = processes;
    this.#hear = hear;
  }

  readonly answer: Handler = async (context) => {
    const { method } = context.req;
    const { pathname, search } = new URL(context.req.url);
    const answer = await this.#ask({ method, path: pathname + search, body: await bodyOf(context) });
    if (answer instanceof Error) throw answer;
    return context.body(new Uint8Array(answer.body), answer.status as 200, { ...answer.headers });
  };

  /** Where it lies otherwise than it did. */
  layAgain(): void {
    if (this.#process !== undefined) this.#processes.layFor(this.#process);
  }

  async close(): Promise<void> {
    const until = performance.now() + patienceMs;
    while (this.#waiting.size > 0 && performance.now() < until) await wait(20);
  }

  #ask(request: Extract<ToProcess, { say: 'request' }>['request']): Promise<AnswerHandedBack | Error> {
    this.#process ??= this.#begin();
    this.#asked += 1;
    const number = this.#asked;
    this.#process.send({ say: 'request', number, request });
    return new Promise((resolve) => this.#waiting.set(number, resolve));
  }

  #begin(): DeskProcess {
    const started = this.#processes.take();
    started.hear((message) => {
      if (message.say === 'answer') this.#settle(message.number, message.answer);
      else this.#hear(message);
    });
    void started.ended.then((why) => {
      this.#process = undefined;
      for (const number of [...this.#waiting.keys()]) this.#settle(number, why);
    });
    return started;
  }

  #settle(number: number, answer: AnswerHandedBack | Error): void {
    this.#waiting.get(number)?.(answer);
    this.#waiting.delete(number);
  }
}

async function bodyOf({ req }: Context): Promise<Uint8Array | undefined> {
  if (req.method === 'GET' || req.method === 'DELETE') return undefined;
  const length = Number(req.header('content-length') ?? Number.NaN);
  if (!(length <= largestBody)) throw refusal(413, 'That file is larger than the desk takes here.');
  return new Uint8Array(await req.arrayBuffer());
}
