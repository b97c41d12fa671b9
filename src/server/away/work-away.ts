import { Hono } from 'hono';
import type { ParentProcess } from '../../io/programs/own-process.ts';
import { answerTo } from '../answer-to.ts';
import type { DeskParts, DeskWords } from '../desk-parts.ts';
import type { FromProcess, PieceSeen, RequestHandedOn, ToProcess } from '../process-talk.ts';
import { roundRoutes } from '../routes/round.ts';
import { DeskAway } from './desk-away.ts';
import { kindNamed } from './kinds.ts';
import { PieceAtWork } from './piece-at-work.ts';

/** Progress is told at most so often: more than four times a second, and no more than a page can draw. */
const tellMs = 100;

/**
 * Does what the server says: one piece of work, or requests of the page, until the server has no more use for this
 * process. What is under way then stops at a clean place first.
 */
export function workAway(parent: ParentProcess<ToProcess, FromProcess>, makeParts: (words: DeskWords) => DeskParts) {
  const send = (message: FromProcess): void => void parent.send(message);
  let desk: DeskAway | undefined;
  let app: Hono | undefined;
  let piece: PieceAtWork | undefined;
  let answering = 0;
  const leave = (): void => {
    if (parent.gone.aborted && answering === 0 && piece?.isOver !== false) parent.end();
  };
  for (const signal of [parent.gone, parent.asked])
    signal.addEventListener('abort', () => {
      piece?.stop(signal.reason);
      leave();
    });
  /** Everything else comes after it. */
  const laid = (): DeskAway => {
    if (desk === undefined) throw new Error('nobody said what lies on the desk');
    return desk;
  };

  async function work({ kind, order, targets }: Extract<ToProcess, { say: 'work' }>): Promise<void> {
    const told = new News(send);
    const one = new PieceAtWork(targets, (atOnce) => told.later(() => one.seen(), atOnce));
    piece = one;
    await one.run(async (at) => await kindNamed(kind).run(laid(), order, at));
    await parent.send({ say: 'news', news: told.of(one.seen()) });
    parent.end();
  }

  async function answer(number: number, request: RequestHandedOn): Promise<void> {
    answering += 1;
    const here = laid();
    app ??= new Hono().route('/api/round', roundRoutes(here, here.paper)).onError(answerTo);
    send({ say: 'answer', number, answer: await answerOf(app, request) });
    answering -= 1;
    leave();
  }

  parent.hear((message) => {
    switch (message.say) {
      case 'desk':
        desk ??= new DeskAway(makeParts(message.words), message.lies, send);
        desk.liesNow(message.lies);
        break;
      case 'work':
        void work(message);
        break;
      case 'agree':
        send({ say: 'agreed', number: message.number, objection: piece?.agree(message.typed) });
        break;
      case 'decline':
        piece?.decline();
        break;
      case 'stop':
        piece?.stop(new Error('interrupted by the desk'));
        break;
      case 'request':
        void answer(message.number, message.request);
    }
  });
}

/** Any host does: who may ask was judged by the server. */
async function answerOf(app: Hono, { method, path, body }: RequestHandedOn) {
  const headers = { 'content-length': String(body?.byteLength ?? 0) };
  const asked = new Request(`http://desk${path}`, { method, headers, ...(body === undefined ? {} : { body }) });
  const answer = await app.fetch(asked);
  return {
    status: answer.status,
    headers: Object.fromEntries(answer.headers),
    body: new Uint8Array(await answer.arrayBuffer()),
  };
}

/** What is another now than it was told last: a proposal of thousands of files is said once. */
class News {
  readonly #send: (message: FromProcess) => void;
  #last: Partial<PieceSeen> = {};
  #timer: NodeJS.Timeout | undefined;

  constructor(send: (message: FromProcess) => void) {
    this.#send = send;
  }

  later(seen: () => PieceSeen, atOnce: boolean): void {
    if (atOnce) {
      clearTimeout(this.#timer);
      this.#timer = undefined;
      this.#send({ say: 'news', news: this.of(seen()) });
    } else
      this.#timer ??= setTimeout(() => {
        this.#timer = undefined;
        this.#send({ say: 'news', news: this.of(seen()) });
      }, tellMs);
  }

  of(seen: PieceSeen): Partial<PieceSeen> {
    const last = this.#last;
    this.#last = seen;
    const news = Object.entries(seen).filter(([name, value]) => value !== last[name as keyof PieceSeen]);
    return Object.fromEntries(news) as Partial<PieceSeen>;
  }
}
