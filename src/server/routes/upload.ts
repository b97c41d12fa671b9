import type { Context } from 'hono';
import * as z from 'zod';
import { refusal } from './body.ts';

/** What stands before the bytes of a file, on a line of its own: JSON holds no line break that is not escaped. */
const longestHead = 2_000_000;

const head = z.object({
  name: z.string().max(1000),
  bytes: z.number().int().nonnegative(),
});

/** A file that a page hands over: what it says of it, and its bytes as they come. */
export interface Upload<Said> {
  readonly said: Said;
  /** They end where the page goes away in the middle; whoever counts them sees it. */
  readonly chunks: AsyncIterable<Uint8Array>;
  /** Takes no more of it. */
  readonly stop: () => void;
}

/**
 * Reads the first line of a body as SCHEMA has it; the rest is the file, which nobody holds in memory. A file of more
 * than MOST bytes is refused before any of it is read.
 */
export async function uploadOf<Said extends z.infer<typeof head>>(
  context: Context,
  schema: z.ZodType<Said>,
  most: number,
): Promise<Upload<Said>> {
  const length = Number(context.req.header('content-length') ?? Number.NaN);
  if (!(length <= most + longestHead)) throw refusal(413, tooLarge(most));
  const reader = context.req.raw.body?.getReader();
  if (reader === undefined) throw refusal(400, 'The page handed over nothing.');
  let line = new Uint8Array();
  for (;;) {
    const { done, value } = await reader.read();
    if (done) throw refusal(400, notUnderstood);
    const end = value.indexOf(lineEnd);
    line = Buffer.concat([line, end < 0 ? value : value.subarray(0, end)]);
    if (line.byteLength > longestHead) throw refusal(413, 'That is more than the desk takes in one piece.');
    if (end >= 0) {
      const read = schema.safeParse(jsonOf(line));
      if (!read.success) throw refusal(400, notUnderstood);
      if (read.data.bytes > most) throw refusal(413, tooLarge(most));
      const stop = (): void => void reader.cancel().catch(() => {});
      return { said: read.data, chunks: restOf(value.subarray(end + 1), reader), stop };
    }
  }
}

export const uploadHead = head;

const lineEnd = 0x0a;
const notUnderstood = 'The page asked for something that the desk does not understand.';
const tooLarge = (most: number): string =>
  `The desk takes files of up to ${most.toLocaleString('en-US')} bytes. Use the command for a larger one.`;

function jsonOf(line: Uint8Array): unknown {
  try {
    return JSON.parse(new TextDecoder().decode(line));
  } catch {
    return undefined;
  }
}

async function* restOf(first: Uint8Array, reader: ReadableStreamDefaultReader<Uint8Array>) {
  if (first.byteLength > 0) yield first;
  for (;;) {
    const next = await reader.read().catch(() => undefined);
    if (next === undefined || next.done) return;
    yield next.value;
  }
}
