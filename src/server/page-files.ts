import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { brotliDecompressSync } from 'node:zlib';
import type { Handler } from 'hono';

/** All there is of the page, as `npm run build` makes it; nothing else of the folder is served. */
const types: Readonly<Record<string, string>> = {
  'index.html': 'text/html; charset=utf-8',
  'page.js': 'text/javascript; charset=utf-8',
  'code-reader.js': 'text/javascript; charset=utf-8',
  'code-reader.wasm': 'application/wasm',
  'page.css': 'text/css; charset=utf-8',
  'icon.svg': 'image/svg+xml',
};

/** Beside the parts of the command. */
const folder = fileURLToPath(new URL('../page/', import.meta.url));

/** The files of the page; they hold nothing of anybody, so whoever can connect may read them. */
export function pageFiles(): Handler {
  return async (context) => {
    const name = context.req.path === '/' ? 'index.html' : context.req.path.slice(1);
    const type = Object.hasOwn(types, name) ? types[name] : undefined;
    if (type === undefined) return context.notFound();
    const isSmall = context.req.header('accept-encoding')?.includes('br') === true;
    const bytes = await readFile(`${folder}${name}.br`);
    return context.body(new Uint8Array(isSmall ? bytes : brotliDecompressSync(bytes)), 200, {
      'content-type': type,
      vary: 'accept-encoding',
      ...(isSmall ? { 'content-encoding': 'br' } : {}),
    });
  };
}
