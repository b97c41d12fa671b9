import { win32 } from 'node:path';
import { powerShellLiteral } from '../../core/text/words.ts';
import { type Environment, variableOf } from '../programs/find-program.ts';
import { runPowerShellAtOnce } from '../programs/run-powershell.ts';

/** Who may use a file, as Windows writes it down, and which account asks. */
export interface WindowsRights {
  /** Security Descriptor Definition Language ([MS-DTYP] 2.5.1). */
  readonly sddl: string;
  /** The account's own security identifier. */
  readonly me: string;
}

/** The system, its administrators, and whoever owns or made the file: nobody keeps those out ([MS-DTYP] 2.4.2.4). */
const always = new Set(['SY', 'BA', 'LA', 'OW', 'CO', 'S-1-5-18', 'S-1-5-32-544', 'S-1-3-0', 'S-1-3-4']);

/** Security identifiers of others whom some entry lets at it in any way; undefined where nobody is kept out at all. */
export function othersIn({ sddl, me }: WindowsRights): readonly string[] | undefined {
  const owner = /^O:(S-[\d-]+|[A-Z]{2})/.exec(sddl)?.[1];
  const list = /D:([A-Z_]*)((?:\([^)]*\))*)/.exec(sddl);
  if (list === null || list[1]?.includes('NO_ACCESS_CONTROL') === true) return undefined;
  const entries = [...(list[2] ?? '').matchAll(/\(([^)]*)\)/g)].map(([, entry = '']) => entry.split(';'));
  const others = entries.flatMap(([kind = '', , , , , who = '']) =>
    /^(A|OA|XA)$/.test(kind) && !always.has(who) && who !== me && who !== owner ? [who] : [],
  );
  return [...new Set(others)];
}

/** Why the file at PATH is not this account's alone, to end a sentence; undefined where it is. */
export function whoElseMayRead(
  path: string,
  environment: Environment,
  ask: (path: string) => WindowsRights = askWindows,
): string | undefined {
  let rights: WindowsRights;
  try {
    rights = ask(path);
  } catch {
    // What lies in a person's own folder inherits that nobody else may read it, unless somebody changed that.
    return isInProfile(path, environment) ? undefined : 'nobody tells who else may read it there';
  }
  const others = othersIn(rights);
  if (others === undefined) return 'whoever has the drive may read it: it keeps no rights';
  return others.length === 0 ? undefined : `other accounts may use it (${others.join(', ')})`;
}

function isInProfile(path: string, environment: Environment): boolean {
  const profile = variableOf(environment, 'USERPROFILE');
  if (profile === undefined || profile === '') return false;
  const way = win32.relative(profile, path);
  return !way.startsWith('..') && !win32.isAbsolute(way);
}

export const rightsScript = (path: string): string =>
  [
    `$sddl = (Get-Acl -LiteralPath ${powerShellLiteral(path)}).Sddl`,
    '$me = & "$env:SystemRoot\\System32\\whoami.exe" /user /fo csv /nh',
    '@{ sddl = "$sddl"; me = "$me" }',
  ].join('; ');

function askWindows(path: string): WindowsRights {
  const said = runPowerShellAtOnce(rightsScript(path));
  const { sddl, me } = (said ?? {}) as { readonly sddl?: unknown; readonly me?: unknown };
  if (typeof sddl !== 'string' || sddl === '') throw new Error('no rights were told');
  return { sddl, me: /S-1-[\d-]+/.exec(String(me))?.[0] ?? '' };
}
