import { spawnSync } from 'node:child_process';
import { it } from 'vitest';

const found = (program: string): boolean =>
  spawnSync(process.platform === 'win32' ? 'where' : 'which', [program], { stdio: 'ignore' }).status === 0;

/**
 * The PROGRAMS (with the Debian package each comes in) that are not here, as hints how to get them, with '; ' between;
 * empty where all are.
 */
export function missingPrograms(programs: Readonly<Record<string, string>>): string {
  const missing = Object.entries(programs).filter(([program]) => !found(program));
  return missing.map(([program, debianPackage]) => `${program} (apt-get install ${debianPackage})`).join('; ');
}

/**
 * An `it` for a check that needs programs nobody here wrote. Where one is missing the check is skipped under a name
 * that says how to install it; with CI=true it fails instead, so that a green run means the check was made.
 */
export function needs(programs: Readonly<Record<string, string>>) {
  const hint = missingPrograms(programs);
  return hint === '' ? it : itWithout(hint);
}

/**
 * As `needs`, and a font with Chinese letters: where there is none a page shows boxes, and its PDF has no text for
 * them.
 */
export function needsChineseLetters(programs: Readonly<Record<string, string>>) {
  const missing = missingPrograms({ ...programs, 'fc-list': 'fontconfig' });
  if (missing !== '') return itWithout(missing);
  const fonts = spawnSync('fc-list', [':lang=zh'], { encoding: 'utf8' }).stdout;
  return fonts === '' ? itWithout('a font with Chinese letters (apt-get install fonts-droid-fallback)') : it;
}

/**
 * An `it` that cannot run for want of what HINT names; `npm test` counts them for each such thing, by the words in
 * brackets.
 */
export function itWithout(hint: string) {
  return (name: string, ...body: unknown[]): void => {
    const { tags = [] } = body.find(isOptions) ?? {};
    if (process.env.CI === 'true') {
      it(name, { tags }, () => {
        throw new Error(`outside check not possible: missing ${hint}`);
      });
    } else {
      it.skip(`${name} [did not run: ${hint}]`, { tags }, () => {});
    }
  };
}

const isOptions = (one: unknown): one is { readonly tags?: string[] } => typeof one === 'object' && one !== null;
