import { readdir, stat } from 'node:fs/promises';
import { delimiter, join } from 'node:path';
import envPaths from 'env-paths';
import { type FamilyFile, judgeFamilyFiles } from '../../core/checks/fit/check-families.ts';
import { severityOf, textsOf } from '../../core/findings/finding.ts';
import type { Family } from '../../core/model/family.ts';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';
import { openRegularFile } from '../files/regular-file.ts';
import { largestFamilyBytes, parseFamily } from './parse-family.ts';

/**
 * Families of the given files and folders (their own `*.yaml` and `*.yml`, not those of folders inside), for work that
 * rests on them: throws `family/unreadable` with all problems listed where any file is not sound, and where a folder
 * holds none; `file/not-found`, `file/not-permitted` or `file/unreadable` where one cannot be read.
 */
export async function loadFamilies(paths: readonly string[]): Promise<readonly Family[]> {
  const { families, findings } = judgeFamilyFiles(await readFamilyFiles(paths));
  const stops = findings.filter((found) => severityOf(found) === 'stop');
  const [first] = stops;
  if (first === undefined) return families;
  const told = stops.map((found) => textsOf(found)).map(({ seen, todo }) => `${seen} ${todo}`);
  throw new ToolError(
    'family/unreadable',
    first.subject.replace(/:\d+:\d+$/, ''),
    told.join('\n'),
    'Correct these places, then run stickwright family check on the folder.',
  );
}

/** The same for looking at the files themselves, as far as each can be read. */
export async function readFamilyFiles(paths: readonly string[]): Promise<readonly FamilyFile[]> {
  const files = (await Promise.all(paths.map(listFiles))).flat();
  return await Promise.all(
    files.map(async (file) => parseFamily(file, await readStart(file).catch((cause) => cannotRead(file, cause)))),
  );
}

/** Enough of a file to judge it: a firmware archive named by mistake is not read whole. */
async function readStart(file: string): Promise<Uint8Array> {
  const handle = await openRegularFile(file);
  try {
    const buffer = new Uint8Array(largestFamilyBytes + 1);
    let filled = 0;
    for (;;) {
      const { bytesRead } = await handle.read(buffer, filled, buffer.length - filled, filled);
      filled += bytesRead;
      if (bytesRead === 0 || filled === buffer.length) return buffer.subarray(0, filled);
    }
  } finally {
    await handle.close();
  }
}

async function listFiles(path: string): Promise<readonly string[]> {
  const facts = await stat(path).catch((cause) => cannotRead(path, cause));
  if (!facts.isDirectory()) return [path];
  const names = await readdir(path).catch((cause) => cannotRead(path, cause));
  const files = names.filter((name) => familyFilePattern.test(name)).toSorted();
  if (files.length > 0) return files.map((name) => join(path, name));
  throw new ToolError(
    'family/unreadable',
    path,
    `The folder ${path} holds no family file (*.yaml).`,
    'Name the folder that holds them, or a family file.',
  );
}

/** Throws what is no system's word as it is. */
function cannotRead(path: string, cause: Error): never {
  const word = systemWordOf(cause);
  if (word === undefined) throw cause;
  if (word === 'ENOENT') {
    throw new ToolError('file/not-found', path, `There is no ${path}.`, 'Check the path to the family files.', cause);
  }
  if (word === 'EACCES' || word === 'EPERM') {
    const todo = 'Ask whoever owns the file or folder for permission to read it.';
    throw new ToolError('file/not-permitted', path, `${path} may not be read.`, todo, cause);
  }
  const todo =
    'If it lies on a network drive, copy it to this computer and name the copy. Otherwise get the file from another place: its disk may be failing.';
  throw new ToolError('file/unreadable', path, `${path} cannot be read: ${cause.message}.`, todo, cause);
}

/** Where families come from, and who said so: the person, the environment, the user's own folder, or nobody. */
interface FamilyPlaces {
  readonly paths: readonly string[];
  readonly from: 'named' | 'environment' | 'user' | 'none';
}

const familyFilePattern = /\.ya?ml$/i;

/** The desk's own family folder: XDG config folder, %APPDATA%, ~/Library/Preferences. */
export const userFamilyFolder = (): string => join(envPaths('stickwright', { suffix: '' }).config, 'families');

/**
 * Files or folders to load families from: those named, else STICKWRIGHT_FAMILIES (several are separated as in PATH),
 * else the user's own folder where it holds a family file.
 */
export async function findFamilyPlaces(
  named: readonly string[],
  environment: Readonly<Record<string, string | undefined>>,
  userFolder: string = userFamilyFolder(),
): Promise<FamilyPlaces> {
  if (named.length > 0) return { paths: named, from: 'named' };
  const listed = (environment.STICKWRIGHT_FAMILIES ?? '').split(delimiter).filter((path) => path !== '');
  if (listed.length > 0) return { paths: listed, from: 'environment' };
  const names = await readdir(userFolder).catch(() => []);
  if (names.some((name) => familyFilePattern.test(name))) return { paths: [userFolder], from: 'user' };
  return { paths: [], from: 'none' };
}
