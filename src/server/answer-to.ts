import type { Context } from 'hono';
import { HTTPException } from 'hono/http-exception';
import { unforeseen } from '../core/model/tool-error.ts';
import { errorInSentences } from '../render/text/render-findings.ts';

/** What the page is told where a request came to no answer: what it says of it as it is. */
export function answerTo(error: Error, context: Context): Response {
  if (error instanceof HTTPException) return error.getResponse();
  const failure = unforeseen(error, '');
  return context.json({ refused: errorInSentences(failure) }, failure.code === 'bug' ? 500 : 409);
}
