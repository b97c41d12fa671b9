import type { Context } from 'hono';
import { HTTPException } from 'hono/http-exception';
import type * as z from 'zod';

/** More than any form of the page holds. */
const largestBody = 2_000_000;

/** The body of a request as SCHEMA has it; else the request is refused. */
export async function bodyOf<Value>(context: Context, schema: z.ZodType<Value>): Promise<Value> {
  const length = Number(context.req.header('content-length') ?? Number.NaN);
  if (!(length <= largestBody)) throw refusal(413, 'That is more than the desk takes in one piece.');
  const given = await context.req.json().catch(() => undefined);
  const read = schema.safeParse(given);
  if (!read.success) throw refusal(400, 'The page asked for something that the desk does not understand.');
  return read.data;
}

/** The bytes of a file that was dropped on the page, MOST at the most; they are held in memory. */
export async function bytesOf(context: Context, most: number): Promise<Uint8Array> {
  const length = Number(context.req.header('content-length') ?? Number.NaN);
  if (!(length <= most)) throw refusal(413, 'That file is larger than the desk takes here.');
  return new Uint8Array(await context.req.arrayBuffer());
}

/** Ends a request: the page says REFUSED as it is. */
export const refusal = (status: 400 | 403 | 404 | 409 | 413, refused: string): HTTPException =>
  new HTTPException(status, { res: Response.json({ refused }, { status }) });
