import type { Context } from 'hono';
import { streamSSE } from 'hono/streaming';
import type { Desk } from './desk.ts';

/** So often something is said, so that a page notices a server that is gone. */
const pulseMs = 5000;

/** Server-sent events (HTML standard, section 9.2), one document each, for as long as the page is there. */
export const streamEvents = (context: Context, desk: Desk): Response =>
  streamSSE(context, async (stream) => {
    let end = (): void => {};
    const over = new Promise<void>((resolve) => {
      end = resolve;
    });
    const leave = desk.listen((event) => {
      void stream.writeSSE({ data: JSON.stringify(event) });
      if (event.event === 'closing') end();
    });
    const pulse = setInterval(() => void stream.writeSSE({ data: '' }), pulseMs);
    stream.onAbort(end);
    await over;
    clearInterval(pulse);
    leave();
  });
