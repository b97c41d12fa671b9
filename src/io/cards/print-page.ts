import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { ToolError } from '../../core/model/tool-error.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { runBrowser } from '../programs/run-program.ts';

/** Some hundreds of cards take seconds; a browser that hangs must not hang the desk. */
const limitMs = 180_000;

/**
 * The PDF that a browser prints of an HTML file, in the page's own size. The browser runs without a window, with a profile of its
 * own that is deleted again, and is given nothing to look up. Throws ToolError `cards/no-browser`.
 */
export async function printPage(browser: string, htmlPath: string, signal?: AbortSignal): Promise<Uint8Array> {
  const folder = await mkdtemp(resolve(tmpdir(), 'stickwright-print-'));
  try {
    const pdf = join(folder, 'page.pdf');
    const words = [...switches(folder), `--print-to-pdf=${pdf}`, pathToFileURL(htmlPath).href];
    const said = await runBrowser(browser, words, { limitMs, signal });
    const bytes = await readRegularFile(pdf, 2 ** 30).catch(() => undefined);
    if (bytes !== undefined && bytes.subarray(0, 5).toString('latin1') === '%PDF-') return bytes;
    const last = said.trim().split('\n').at(-1) ?? '';
    const message = `${browser} made no PDF of ${htmlPath}${last === '' ? '' : `: ${last}`}.`;
    const todo =
      'Open the HTML file in any browser and print it from there, or name another browser with STICKWRIGHT_BROWSER.';
    throw new ToolError('cards/no-browser', htmlPath, message, todo);
  } finally {
    await rm(folder, { recursive: true, force: true, maxRetries: 5 }).catch(() => {});
  }
}

function switches(profile: string): readonly string[] {
  return [
    '--headless',
    '--disable-gpu',
    '--no-first-run',
    '--disable-extensions',
    '--disable-background-networking',
    '--disable-component-update',
    '--disable-sync',
    '--no-pdf-header-footer',
    `--user-data-dir=${profile}`,
    // Chromium refuses to run as root with its sandbox; the page has no script and comes from us.
    ...(process.platform === 'linux' && process.getuid?.() === 0 ? ['--no-sandbox'] : []),
  ];
}
