import { createHash, randomBytes } from 'node:crypto';
import { Hono } from 'hono';
import type { Door } from './door.ts';

/** A browser opens it at once; nobody comes back for it later. */
const ticketMs = 60_000;
const mostKept = 16;

/** Who makes a page to print. */
export interface Printing {
  /** The address at which PAGE, a whole HTML document without script, can be fetched once. */
  readonly addressOf: (page: string) => string;
}

/**
 * Pages to print, each at an address of its own that is good once and for a minute: the browser opens them by itself
 * and cannot send the page's token along, so the ticket and the cookie stand for it.
 */
export class Paper implements Printing {
  readonly #tickets = new Map<string, { readonly page: string; readonly until: number }>();

  addressOf(page: string): string {
    const ticket = randomBytes(32).toString('base64url');
    this.keep(ticket, page);
    return `/paper/${ticket}`;
  }

  /** From now on PAGE lies at the address with TICKET. */
  keep(ticket: string, page: string): void {
    this.#tickets.set(ticket, { page, until: Date.now() + ticketMs });
    for (const old of this.#tickets.keys()) if (this.#tickets.size > mostKept) this.#tickets.delete(old);
  }

  readonly routes = (door: Door): Hono =>
    new Hono().get('/:ticket', (context) => {
      const ticket = context.req.param('ticket');
      const kept = this.#tickets.get(ticket);
      const mayRead = kept !== undefined && Date.now() < kept.until && door.hasCookie(context);
      if (!mayRead) return context.text('This address was good once, for a minute. Ask for the page again.', 403);
      this.#tickets.delete(ticket);
      return context.html(kept.page, 200, { 'content-security-policy': policyFor(kept.page) });
    });
}

/**
 * No script at all, and no other style than the page's own (CSP level 3, section 8.3: hashes); sizes stand at what
 * they are of, as attributes.
 */
function policyFor(page: string): string {
  const styles = [...page.matchAll(/<style>([\s\S]*?)<\/style>/g)].map(
    ([, text = '']) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`,
  );
  return `default-src 'none'; style-src-elem ${styles.join(' ')}; style-src-attr 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`;
}
