import { spawnSync } from 'node:child_process';
import { it } from 'vitest';

const found = (program: string): boolean =>
  spawnSync(process.platform === 'win32' ? 'where' : 'which', [program], { stdio: 'ignore' }).status === 0;

/**
 * An `it` for a check that needs programs nobody here wrote. Where one is missing the check is skipped under a name that
 * says how to install it; with CI=true it fails instead, so that a green run means the check was made.
 */
export function needs(programs: Readonly<Record<string, string>>) {
  const missing = Object.entries(programs).filter(([program]) => !found(program));
  if (missing.length === 0) return it;
  const hint = missing.map(([program, debianPackage]) => `${program} (apt-get install ${debianPackage})`).join(', ');
  return (name: string, ..._body: unknown[]): void => {
    if (process.env.CI === 'true') {
      it(name, () => {
        throw new Error(`outside check not possible: missing ${hint}`);
      });
    } else {
      it.skip(`${name} [did not run: missing ${hint}]`, () => {});
    }
  };
}
