import { access, constants } from 'node:fs/promises';
import { delimiter, isAbsolute, join } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';

type Environment = Readonly<Record<string, string | undefined>>;

/**
 * A browser that prints pages without a window: the one that STICKWRIGHT_BROWSER names, else one where its installer puts it.
 * Any of the Chromium kind will do; the others have no such print. Throws ToolError `cards/no-browser`.
 */
export async function findBrowser(environment: Environment, platform: NodeJS.Platform): Promise<string> {
  const named = environment.STICKWRIGHT_BROWSER ?? '';
  for (const path of named === '' ? usualPlaces(environment, platform) : placesOf(named, environment)) {
    if (await isProgram(path)) return path;
  }
  if (named !== '') {
    const todo = 'Set STICKWRIGHT_BROWSER to the program file of a browser, or unset it.';
    throw new ToolError(
      'cards/no-browser',
      named,
      `STICKWRIGHT_BROWSER names ${named}, and no program is there.`,
      todo,
    );
  }
  const todo =
    'Open the HTML files in any browser and print them from there, at 100 % and without margins of its own. Or install Chromium, or set STICKWRIGHT_BROWSER to the program file of a browser of its kind.';
  throw new ToolError('cards/no-browser', 'PDF', 'No browser was found that could print the pages to PDF.', todo);
}

/** By documentation and experience; only those for Linux were tried. */
function usualPlaces(environment: Environment, platform: NodeJS.Platform): readonly string[] {
  switch (platform) {
    case 'win32':
      return ['ProgramFiles', 'ProgramFiles(x86)', 'LocalAppData'].flatMap((variable) => {
        const folder = environment[variable] ?? environment[variable.toUpperCase()];
        const inside = [
          'Google\\Chrome\\Application\\chrome.exe',
          'Microsoft\\Edge\\Application\\msedge.exe',
          'Chromium\\Application\\chrome.exe',
        ];
        return folder === undefined ? [] : inside.map((path) => `${folder}\\${path}`);
      });
    case 'darwin':
      return ['', environment.HOME ?? ''].flatMap((root) =>
        ['Google Chrome', 'Chromium', 'Microsoft Edge'].map(
          (name) => `${root}/Applications/${name}.app/Contents/MacOS/${name}`,
        ),
      );
    default:
      return ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'microsoft-edge'].flatMap(
        (name) => placesOf(name, environment),
      );
  }
}

/** A path as it is; a bare name in every folder of the search path. */
function placesOf(name: string, environment: Environment): readonly string[] {
  if (isAbsolute(name) || /[/\\]/.test(name)) return [name];
  const folders = (environment.PATH ?? environment.Path ?? '').split(delimiter);
  return folders.filter((folder) => folder !== '').map((folder) => join(folder, name));
}

const isProgram = (path: string): Promise<boolean> =>
  access(path, constants.X_OK).then(
    () => true,
    () => false,
  );
