import type { DeskEvent } from '../core/report/window-talk.ts';
import { inWindow } from '../core/text/in-window.ts';

// What the page says to its server and hears from it. The token is this page's alone; the cookie goes along by itself.

/** One a server and browser, so that a second tab comes in too; another port is another origin and cannot read it. */
const kept = 'stickwright-token';

/** Why the server would not, in its own words. */
export class Refused extends Error {
  readonly status: number;

  constructor(status: number, message: string) {
    super(message);
    this.status = status;
  }
}

/** Hands in the secret of the address, where it carries one, and takes it out of sight. */
export async function comeIn(): Promise<void> {
  const secret = location.hash.slice(1);
  // Else it is the name of a sheet: the page was loaded again.
  if (!/^[\w-]{43}$/.test(secret)) return;
  history.replaceState(null, '', '/');
  const answer = await fetch('/enter', { method: 'POST', body: JSON.stringify({ secret }) });
  if (answer.ok) localStorage.setItem(kept, ((await answer.json()) as { token: string }).token);
}

const headers = (): Record<string, string> => ({ 'x-desk-token': localStorage.getItem(kept) ?? '' });

/** Asks for a document, or sends one. Throws Refused. */
export async function ask<Answer>(method: string, path: string, body?: unknown): Promise<Answer> {
  const answer = await fetch(path, {
    method,
    headers: headers(),
    ...(body === undefined ? {} : { body: body instanceof Blob ? body : JSON.stringify(body) }),
  });
  return (await expectOk(answer).then((one) => one.json())) as Answer;
}

/** A file that the desk makes. Throws Refused. */
export const askBytes = async (path: string): Promise<Blob> =>
  await expectOk(await fetch(path, { headers: headers() })).then((answer) => answer.blob());

async function expectOk(answer: Response): Promise<Response> {
  if (answer.ok) return answer;
  const told = (await answer.json().catch(() => ({}))) as { refused?: string };
  throw new Refused(answer.status, (told.refused && inWindow(told.refused)) ?? `The desk answered ${answer.status}.`);
}

/**
 * Hands a file over, and what is said of it on a line before its bytes; a browser reads it as it goes. Throws Refused.
 */
export const handOver = <Answer>(path: string, file: File, said: object): Promise<Answer> =>
  ask('POST', path, new Blob([JSON.stringify({ ...said, name: file.name, bytes: file.size }), '\n', file]));

/** Hears the server's events until it is gone, however that comes. */
export async function hearEvents(hear: (event: DeskEvent) => void): Promise<void> {
  const answer = await fetch('/api/events', { headers: headers() });
  if (!answer.ok || answer.body === null) throw new Refused(answer.status, 'The desk does not know this page.');
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    const lines = (rest + value).split('\n');
    rest = lines.pop() ?? '';
    for (const line of lines) {
      const data = line.startsWith('data: ') ? line.slice(6) : '';
      if (data !== '') hear(JSON.parse(data) as DeskEvent);
    }
  }
}
