import * as z from 'zod';
import { isFindingCode } from '../core/findings/catalogue.ts';
import { isAcceptable, isReason } from '../core/findings/finding.ts';
import { refusal } from './routes/body.ts';

/** Codes of stops, each with the reason why it is accepted. */
export const accepted = z.record(z.string().max(100), z.string().max(1000)).default({});

type Accepted = z.output<typeof accepted>;

/** By the rules of `--accept` and `--because`; else the request is refused. */
export function acceptedReasons(given: Accepted): ReadonlyMap<string, string> {
  for (const [code, reason] of Object.entries(given))
    if (!isFindingCode(code) || !isAcceptable(code) || !isReason(reason))
      throw refusal(409, `${code} cannot be accepted, or the reason is too short to be one.`);
  return new Map(Object.entries(given));
}

/** What an agreement says of them. */
export const acceptedInWords = (given: Accepted): string =>
  Object.entries(given)
    .map(([code, reason]) => `, accepting ${code} because "${reason}"`)
    .join('');
