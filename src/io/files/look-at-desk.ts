import { access, constants, mkdir, stat } from 'node:fs/promises';
import { dirname } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { seeSettings } from '../../core/model/settings.ts';
import { systemWordOf } from '../../core/model/tool-error.ts';
import { findBrowser } from '../cards/print-page.ts';
import { listDrives } from '../drives/list-drives.ts';
import { findFamilyPlaces, loadFamilies } from '../families/load-families.ts';
import { placesOfProgram, type SystemProgram } from '../programs/find-program.ts';
import { isProgramFile } from '../programs/run-program.ts';
import { findShelfPlace } from '../shelf/shelf-folder.ts';
import { keyFiles, readDeskKey } from './desk-key.ts';
import { openDraft } from './drafts.ts';
import { removeTree } from './durable-files.ts';
import { readSettings } from './settings-file.ts';

/** What was found of one thing that a desk needs: it is there, it is not, or it is there and cannot be used. */
export interface DeskLook {
  readonly name: DeskThing;
  readonly state: 'there' | 'missing' | 'broken';
  /** What is there, or why it cannot be used. */
  readonly detail: string;
}

export type DeskThing =
  | 'node'
  | 'settings'
  | 'families'
  | 'shelf'
  | 'drafts'
  | 'drives'
  | 'exfat'
  | 'eject'
  | 'browser'
  | 'seal';

const oldestNode = [20, 19] as const;

/** Longer than any program of the system is waited for. */
const mostMs = 25_000;

/**
 * Looks at all that could be missing on this machine; each look by itself, and none changes anything. What hangs keeps
 * no other answer back for longer than `patienceMs`.
 */
export async function lookAtDesk(
  environment: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
  patienceMs = mostMs,
): Promise<readonly DeskLook[]> {
  const look = async (name: DeskThing, at: () => Promise<string | undefined>): Promise<DeskLook> => {
    try {
      const detail = await Promise.race([at(), hangingAfter(patienceMs)]);
      return detail === undefined ? { name, state: 'missing', detail: '' } : { name, state: 'there', detail };
    } catch (error) {
      return { name, state: 'broken', detail: error instanceof Error ? error.message : String(error) };
    }
  };
  const program = async (name: SystemProgram): Promise<string | undefined> =>
    placesOfProgram(name, platform, environment).find(isProgramFile);
  return await Promise.all([
    look('node', async () => nodeVersion(process.versions.node)),
    look('settings', async () => settingsInWords(environment)),
    look('families', () => familiesInWords(environment)),
    look('shelf', () => shelfInWords(environment)),
    look('drafts', draftsInWords),
    look('drives', async () => `${(await listDrives()).length} seen`),
    look('exfat', () =>
      program(platform === 'darwin' ? 'newfs_exfat' : platform === 'win32' ? 'powershell.exe' : 'mkfs.exfat'),
    ),
    look('eject', () =>
      program(platform === 'darwin' ? 'diskutil' : platform === 'win32' ? 'powershell.exe' : 'udisksctl'),
    ),
    look('browser', async () => browserOrNone(environment, platform)),
    look('seal', async () =>
      readDeskKey(keyFiles(environment)) === undefined ? undefined : keyFiles(environment).publicPath,
    ),
  ]);
}

async function hangingAfter(ms: number): Promise<never> {
  await wait(ms, undefined, { ref: false });
  throw new Error(`No answer within ${ms / 1000} s: the drive or the network that it lies on hangs.`);
}

function nodeVersion(version: string): string {
  const [major = 0, minor = 0] = version.split('.').map(Number);
  const isOld = major < oldestNode[0] || (major === oldestNode[0] && minor < oldestNode[1]);
  if (isOld) throw new Error(`Node ${version} is older than ${oldestNode.join('.')}.`);
  return `Node ${version}`;
}

function settingsInWords(environment: NodeJS.ProcessEnv): string {
  const seen = seeSettings(readSettings(), environment);
  const wrong = seen.flatMap(({ objection }) => objection ?? []);
  if (wrong.length > 0) throw new Error(wrong.join(' '));
  return `${seen.filter(({ from }) => from !== 'default').length} of ${seen.length} set`;
}

async function familiesInWords(environment: NodeJS.ProcessEnv): Promise<string | undefined> {
  const { paths } = await findFamilyPlaces([], environment);
  return paths.length === 0 ? undefined : `${(await loadFamilies(paths)).length} read`;
}

async function shelfInWords(environment: NodeJS.ProcessEnv): Promise<string | undefined> {
  const { folder } = findShelfPlace(undefined, environment);
  if ((await stat(folder).catch(() => undefined)) === undefined) return undefined;
  await access(folder, constants.R_OK | constants.W_OK).catch(() => {
    throw new Error(`${folder} cannot be read and written by this account.`);
  });
  return folder;
}

/** What is typed is kept there; that nothing can be written shows before an interview, not in it. */
async function draftsInWords(): Promise<string> {
  const { folder } = await openDraft('guide');
  let near = folder;
  while ((await stat(near).catch(() => undefined)) === undefined && dirname(near) !== near) near = dirname(near);
  const probe = `${near}/stickwright-probe-${process.pid}`;
  await mkdir(probe).catch((cause: unknown) => {
    throw new Error(`Nothing can be written into ${near} (${systemWordOf(cause) ?? String(cause)}).`);
  });
  await removeTree(probe);
  return folder;
}

function browserOrNone(environment: NodeJS.ProcessEnv, platform: NodeJS.Platform): string | undefined {
  try {
    return findBrowser(environment, platform);
  } catch (error) {
    if ((environment.STICKWRIGHT_BROWSER ?? '') !== '') throw error;
    return undefined;
  }
}
