import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, posix, resolve, win32 } from 'node:path';
import { pathToFileURL } from 'node:url';
import { ToolError } from '../../core/model/tool-error.ts';
import { readRegularFile } from '../files/regular-file.ts';
import { type Environment, systemFolders, variableOf } from '../programs/find-program.ts';
import { isProgramFile, runBrowser } from '../programs/run-program.ts';

/** Some hundreds of cards take seconds; a browser that hangs must not hang the desk. */
const limitMs = 180_000;

/**
 * The PDF that a browser prints of an HTML file, in the page's own size. The browser runs without a window, with a
 * profile of its own that is deleted again, and is given nothing to look up. Throws ToolError `cards/no-browser`.
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

/**
 * A browser that prints pages without a window: the one that STICKWRIGHT_BROWSER names, else one where its installer
 * puts it. Always a full path. Any of the Chromium kind will do; the others have no such print. Throws ToolError
 * `cards/no-browser`.
 */
export function findBrowser(environment: Environment, platform: NodeJS.Platform): string {
  const named = environment.STICKWRIGHT_BROWSER ?? '';
  const found = browserPlaces(environment, platform).find(isProgramFile);
  if (found !== undefined) return found;
  if (named === '')
    throw new ToolError(
      'cards/no-browser',
      'PDF',
      'No browser was found that could print the pages to PDF.',
      'Open the HTML files in any browser and print them from there, at 100 % and without margins of its own. Or install Chromium, or set STICKWRIGHT_BROWSER to the program file of a browser of its kind.',
    );
  const isRelative = !isFull(named, platform) && /[/\\]/.test(named);
  throw new ToolError(
    'cards/no-browser',
    named,
    isRelative
      ? `STICKWRIGHT_BROWSER names ${named}, which depends on the folder one happens to be in; on a stick that would be anybody's program.`
      : `STICKWRIGHT_BROWSER names ${named}, and no program is there.`,
    'Set STICKWRIGHT_BROWSER to the full path of the program file of a browser, or unset it. Open the HTML files in any browser meanwhile, and print them from there.',
  );
}

/**
 * The full paths that are tried. A name alone is looked for among the system's programs, never along the search path.
 */
export function browserPlaces(environment: Environment, platform: NodeJS.Platform): readonly string[] {
  const named = environment.STICKWRIGHT_BROWSER ?? '';
  if (named === '') return usualPlaces(environment, platform);
  if (isFull(named, platform)) return [named];
  return /[/\\:]/.test(named) ? [] : inSystem(named, platform, environment);
}

/** Where an absolute path of Windows has no drive letter it hangs on the current one, or lies on another computer. */
const isFull = (path: string, platform: NodeJS.Platform): boolean =>
  platform === 'win32' ? /^[a-z]:[\\/]/i.test(path) : posix.isAbsolute(path);

function inSystem(name: string, platform: NodeJS.Platform, environment: Environment): readonly string[] {
  const paths = platform === 'win32' ? win32 : posix;
  // Snap's programs, and those that a package brings in a folder of its own, belong to the system as well.
  const more = platform === 'linux' ? ['/snap/bin'] : [];
  return [...systemFolders(platform, environment), ...more].map((folder) => paths.join(folder, name));
}

/** By documentation and experience; only those for Linux were tried. */
function usualPlaces(environment: Environment, platform: NodeJS.Platform): readonly string[] {
  switch (platform) {
    case 'win32':
      return ['ProgramFiles', 'ProgramFiles(x86)', 'LocalAppData'].flatMap((variable) => {
        const folder = variableOf(environment, variable);
        const inside = [
          'Google\\Chrome\\Application\\chrome.exe',
          'Microsoft\\Edge\\Application\\msedge.exe',
          'Chromium\\Application\\chrome.exe',
        ];
        return folder === undefined || !isFull(folder, platform) ? [] : inside.map((path) => `${folder}\\${path}`);
      });
    case 'darwin':
      return ['', environment.HOME ?? '/'].flatMap((root) =>
        root !== '' && (root === '/' || !isFull(root, platform))
          ? []
          : ['Google Chrome', 'Chromium', 'Microsoft Edge'].map(
              (name) => `${root}/Applications/${name}.app/Contents/MacOS/${name}`,
            ),
      );
    default:
      return [
        ...['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'microsoft-edge'].flatMap((name) =>
          inSystem(name, platform, environment),
        ),
        '/opt/google/chrome/google-chrome',
      ];
  }
}
