import { basename } from 'node:path';
import { Hono } from 'hono';
import * as z from 'zod';
import type { HashClaim } from '../core/checks/archive/check-published-hashes.ts';
import type { SignerSaid } from '../core/guide/slip.ts';
import { noByteCount, readByteCount, readHashesSaid } from '../core/text/published.ts';
import { describeCertificate, largestSignerBytes, signersIn } from '../io/update-package/read-signers.ts';
import { bytesOf, refusal } from './routes/body.ts';

// What a maker publishes of a package, and whose signature is trusted: as the page has it, and as a workflow takes it.

export const published = z
  .object({
    hash: z.string().max(1_000_000).optional(),
    hashFrom: z.string().max(1000).optional(),
    bytes: z.string().max(100).optional(),
  })
  .default({});

type Published = z.output<typeof published>;

/** Far more than a maker has. */
const mostSigners = 16;

export const signers = z
  .array(z.object({ der: z.base64().max(40_000) }))
  .max(mostSigners)
  .default([]);

/** What the file of this NAME must be; a request that says what cannot be published is refused. */
export function claimsIn(said: Published, name: string): readonly HashClaim[] {
  const read = readHashesSaid(said, name);
  if (read.state === 'wrong') throw refusal(409, `The published hash: ${read.why}`);
  const from = said.hashFrom ?? 'the person at the desk';
  return read.state === 'nothing' ? [] : read.hashes.map(({ algorithm, hex }) => ({ algorithm, hex, from }));
}

export function bytesIn({ bytes = '' }: Published): number | undefined {
  if (bytes.trim() === '') return undefined;
  const count = readByteCount(bytes);
  if (count === undefined) throw refusal(409, `The published length: ${noByteCount}`);
  return count;
}

/** As DER; what is none is refused by whoever reads it. */
export const trustedIn = (given: z.output<typeof signers>): readonly Uint8Array[] =>
  given.flatMap(({ der }) => signersIn('the certificate', Buffer.from(der, 'base64')));

/** What a file of certificates holds, for somebody to look at before it is trusted; nothing is kept. */
export const signerRoutes = (): Hono =>
  new Hono().post('/', async (context) => {
    const name = basename(context.req.query('name') ?? '');
    const bytes = Buffer.from(await bytesOf(context, largestSignerBytes));
    const found = signersIn(name, bytes).map((der): SignerSaid => {
      const facts = describeCertificate(der)?.facts;
      if (facts === undefined) throw refusal(409, `The key in ${name} is of no kind that is known here.`);
      return { name, der: Buffer.from(der).toString('base64'), subject: facts.subject, sha256: facts.sha256 };
    });
    return context.json(found);
  });
