import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import type { Context, MiddlewareHandler } from 'hono';
import { getCookie, setCookie } from 'hono/cookie';

/** How long the secret in the address is good. */
const secretMs = 60_000;

const cookieName = 'stickwright-desk';
const tokenHeader = 'x-desk-token';

/**
 * Who may come in. The address that the desk opens carries a secret after the `#`, which no browser sends along: the
 * page hands it in once, within a minute, and gets a cookie that no script reads and a token that it keeps for itself.
 * A cookie alone proves little, because cookies ignore ports; the token alone could have been read over a shoulder.
 */
export class Door {
  #secret: string | undefined;
  #until = 0;
  readonly #cookie = makeSecret();
  readonly #token = makeSecret();

  /** A new secret for an address; the one before is void. */
  newSecret(): string {
    this.#secret = makeSecret();
    this.#until = Date.now() + secretMs;
    return this.#secret;
  }

  /** Hands over cookie and token for the secret, once. */
  enter = async (context: Context): Promise<Response> => {
    const { secret } = await context.req.json<{ secret?: unknown }>().catch(() => ({ secret: undefined }));
    const isRight = Date.now() < this.#until && isSame(secret, this.#secret);
    if (isRight) this.#secret = undefined;
    if (!isRight) return context.json({ refused: 'The secret in the address was used already, or is too old.' }, 403);
    setCookie(context, cookieName, this.#cookie, { httpOnly: true, sameSite: 'Strict', path: '/' });
    return context.json({ token: this.#token });
  };

  /** For everything that reads or changes anything: cookie and token. */
  readonly guard: MiddlewareHandler = async (context, next) => {
    const knows = isSame(getCookie(context, cookieName), this.#cookie);
    if (!knows || !isSame(context.req.header(tokenHeader), this.#token))
      return context.json({ refused: 'This page does not belong to this desk.' }, 403);
    await next();
  };

  /** For a page that the browser itself opens: the cookie, and that our own page asked for it. */
  readonly hasCookie = (context: Context): boolean => isSame(getCookie(context, cookieName), this.#cookie);
}

/**
 * Every request: by our own name and port (a page elsewhere whose name leads here has another name: DNS rebinding), and
 * from our own page or from nobody's (Fetch standard, Origin; Fetch Metadata, Sec-Fetch-Site).
 */
export const onlyOurPage =
  (port: () => number): MiddlewareHandler =>
  async (context, next) => {
    const { host = '', origin } = context.req.header();
    const site = context.req.header('sec-fetch-site');
    const isHere = host === `127.0.0.1:${port()}` || host === `localhost:${port()}`;
    const isOwn = origin === undefined || origin === `http://${host}`;
    // `none`: typed, or opened by the desk.
    const isFromHere = site === undefined || site === 'same-origin' || site === 'none';
    if (!isHere || !isOwn || !isFromHere) return context.text('Not from this desk.', 403);
    await next();
    for (const [name, value] of Object.entries(ownHeaders))
      if (!context.res.headers.has(name)) context.header(name, value);
  };

const ownHeaders = {
  'content-security-policy':
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; media-src blob:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
  'cache-control': 'no-store',
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
  'permissions-policy': 'camera=(self), geolocation=(), microphone=()',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
  'x-frame-options': 'DENY',
};

const makeSecret = (): string => randomBytes(32).toString('base64url');

/** In a time that says nothing of where they differ. */
function isSame(given: unknown, wanted: string | undefined): boolean {
  if (typeof given !== 'string' || wanted === undefined) return false;
  const digest = (text: string): Buffer => createHash('sha256').update(text).digest();
  return timingSafeEqual(digest(given), digest(wanted));
}
