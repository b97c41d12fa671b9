import { posix, win32 } from 'node:path';

export type Environment = Readonly<Record<string, string | undefined>>;

/** Every program of a system that is ever started, but for the browser that prints. */
export type SystemProgram =
  | 'blockdev'
  | 'df'
  | 'diskutil'
  | 'eject'
  | 'lsblk'
  | 'mkfs.exfat'
  | 'newfs_exfat'
  | 'open'
  | 'powershell.exe'
  | 'ps'
  | 'rundll32.exe'
  | 'sync'
  | 'udisksctl'
  | 'umount'
  | 'whoami.exe'
  | 'xdg-open';

/** A program with its words, for showing and for running. */
export type SystemCommand = readonly [SystemProgram, ...string[]];

/**
 * Folders that only the system's owner can fill (FHS 3.0, sections 3.4, 3.16, 4.4 and 4.9; NixOS and Guix keep theirs
 * under /run). Not the search path of the person: it may hold the current folder (`.`, an empty part), a folder on the
 * stick, or one that anybody writes to.
 */
const posixFolders = {
  linux: [
    '/usr/bin',
    '/bin',
    '/usr/sbin',
    '/sbin',
    '/run/wrappers/bin',
    '/run/current-system/sw/bin',
    '/run/current-system/profile/bin',
    '/run/current-system/profile/sbin',
    '/usr/local/bin',
    '/usr/local/sbin',
  ],
  darwin: ['/usr/sbin', '/usr/bin', '/sbin', '/bin'],
} as const;

/** Where programs of the system lie, in the order in which they are looked at; empty where nobody can say. */
export function systemFolders(platform: NodeJS.Platform, environment: Environment): readonly string[] {
  if (platform !== 'win32') return platform === 'darwin' ? posixFolders.darwin : posixFolders.linux;
  const system = windowsFolder(environment);
  if (system === undefined) return [];
  const system32 = win32.join(system, 'System32');
  return [system32, system, win32.join(system32, 'Wbem'), win32.join(system32, 'WindowsPowerShell', 'v1.0')];
}

/** The only paths under which PROGRAM is ever started. */
export function placesOfProgram(
  program: SystemProgram,
  platform: NodeJS.Platform,
  environment: Environment,
): readonly string[] {
  const folders = systemFolders(platform, environment);
  if (platform !== 'win32') return folders.map((folder) => posix.join(folder, program));
  // Windows PowerShell 5.1 is a part of Windows and lies here (about_Windows_PowerShell_5.1); nothing else is started
  // there. rundll32 and whoami are parts of Windows too, in System32.
  const home = folders.at(-1);
  if (program === 'powershell.exe') return home === undefined ? [] : [win32.join(home, program)];
  const isOfWindows = program === 'rundll32.exe' || program === 'whoami.exe';
  return isOfWindows ? folders.slice(0, 1).map((folder) => win32.join(folder, program)) : [];
}

/**
 * %SystemRoot%, where it can be one: absolute, on a drive with a letter. No share, no device path, no `..`, nothing
 * that hangs on the current folder. The environment is the person's own; whoever can set it can start programs anyway.
 */
export function windowsFolder(environment: Environment): string | undefined {
  const value = variableOf(environment, 'SystemRoot') ?? '';
  const isLocal = /^[a-z]:\\(?:[^\\/:*?"<>|]+\\?)+$/i.test(value) && !value.split('\\').includes('..');
  return isLocal ? value.replace(/\\$/, '') : undefined;
}

/** Windows knows its variables in any case; a copy of them does not. */
export function variableOf(environment: Environment, name: string): string | undefined {
  const key = Object.keys(environment).find((one) => one.toLowerCase() === name.toLowerCase());
  return key === undefined ? undefined : environment[key];
}

/** What a program of the system needs to know of the person: language, home, and whom to ask for rights. */
const posixKept = [
  'HOME',
  'USER',
  'LOGNAME',
  'LANG',
  'LANGUAGE',
  'LC_ALL',
  'LC_CTYPE',
  'LC_MESSAGES',
  'TZ',
  'TMPDIR',
  'DBUS_SYSTEM_BUS_ADDRESS',
  'DBUS_SESSION_BUS_ADDRESS',
  'XDG_RUNTIME_DIR',
  'XDG_SESSION_ID',
];
const windowsKept =
  /^(systemroot|windir|systemdrive|temp|tmp|user.*|appdata|localappdata|programdata|(common)?program(files|w6432).*|allusersprofile|public|home(drive|path)|computername|number_of_processors|processor_.*|os)$/i;

/**
 * What a program of the system is given of the ENVIRONMENT: its own search path, and only what is known to be needed.
 * So nothing reaches it that makes it load something (LD_PRELOAD, LD_LIBRARY_PATH, DYLD_…, PSModulePath). What was
 * loaded into this process itself, and how Node was found, was decided before this code ran and is out of its reach.
 */
export function environmentFor(platform: NodeJS.Platform, environment: Environment): Record<string, string> {
  const isKept = (name: string): boolean => (platform === 'win32' ? windowsKept.test(name) : posixKept.includes(name));
  const kept = Object.entries(environment).flatMap(([name, value]) =>
    value !== undefined && isKept(name) ? [[name, value] as const] : [],
  );
  return { ...Object.fromEntries(kept), ...searchPaths(platform, environment) };
}

/**
 * The same for a browser, which is a program of the person's and needs much of what they set; only its search path is
 * replaced.
 */
export function environmentForBrowser(platform: NodeJS.Platform, environment: Environment): Record<string, string> {
  const replaced = searchPaths(platform, environment);
  const names = new Set(Object.keys(replaced).map((name) => name.toLowerCase()));
  const others = Object.entries(environment).flatMap(([name, value]) =>
    value === undefined || names.has(name.toLowerCase()) || /^(LD|DYLD)_/.test(name) ? [] : [[name, value] as const],
  );
  return { ...Object.fromEntries(others), ...replaced };
}

function searchPaths(platform: NodeJS.Platform, environment: Environment): Record<string, string> {
  const folders = systemFolders(platform, environment);
  if (platform !== 'win32') return { PATH: folders.join(':') };
  const home = folders.at(-1);
  return {
    PATH: folders.join(';'),
    PATHEXT: '.COM;.EXE;.BAT;.CMD',
    // Set by another PowerShell, or to a folder on the stick, it would bring other modules (about_PSModulePath).
    ...(home === undefined ? {} : { PSModulePath: win32.join(home, 'Modules') }),
    // Windows looks in the current folder first unless this is set (NeedCurrentDirectoryForExePathW).
    NoDefaultCurrentDirectoryInExePath: '1',
  };
}

/**
 * A folder to start programs in: never the stick, which they would hold, and where Windows would look for their
 * libraries.
 */
export const folderToStartIn = (platform: NodeJS.Platform, environment: Environment): string =>
  platform === 'win32' ? (systemFolders(platform, environment)[0] ?? 'C:\\') : '/';
