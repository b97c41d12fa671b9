import { runProgram } from './run-program.ts';

/** A computer that is away from its domain may look long for the names of groups; nobody waits for that. */
const patienceMs = 5000;

/**
 * Whether this process may do all that an administrator may; undefined where nobody tells in time. Windows writes it
 * into what a process carries (whoami /groups lists it): a level of integrity, from high on ([MS-DTYP] 2.4.2.4:
 * ML_HIGH is S-1-16-12288, ML_SYSTEM S-1-16-16384). Wine's whoami tells no level.
 */
export async function hasRaisedRights(
  platform = process.platform,
  getuid: (() => number) | undefined = process.getuid,
  run: typeof runProgram = runProgram,
): Promise<boolean | undefined> {
  if (platform !== 'win32') return getuid?.() === 0;
  const asked = run('whoami.exe', ['/groups', '/fo', 'csv', '/nh']).then(isHigh, () => undefined);
  return Promise.race([asked, new Promise<undefined>((give) => setTimeout(give, patienceMs, undefined).unref())]);
}

function isHigh(groups: string): boolean | undefined {
  const level = /"S-1-16-(\d+)"/.exec(groups)?.[1];
  return level === undefined ? undefined : Number(level) >= 12_288;
}
