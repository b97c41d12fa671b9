import { readdir, readFile, writeFile } from 'node:fs/promises';
import { basename, dirname } from 'node:path';
import { ToolError } from '../../core/model/tool-error.ts';
import type { MediumPlace } from '../../core/report/medium-reports.ts';
import { isSameDevice } from '../drives/drive-source.ts';
import type { Drive } from '../drives/drives.ts';
import { reachesMedium } from '../drives/linux-drives.ts';
import { listDrives } from '../drives/list-drives.ts';
import { syncFolder } from '../files/durable-files.ts';
import { openFileDevice } from '../volume/file-device.ts';
import { identifyStick } from '../volume/identify-stick.ts';
import type { Release } from '../volume/lock-by-file.ts';
import { lockStick } from '../volume/lock-stick.ts';
import { holdDevice } from '../volume/look-at-target.ts';
import { toStickError } from '../volume/os-error.ts';
import type { SectorDevice } from '../volume/sector-device.ts';
import { checkSectorBytes } from './find-medium.ts';
import { unmountDrive } from './unmount-drive.ts';

export interface ClaimedMedium {
  /** A read around the cache reaches the medium. */
  readonly mayBeDirect: boolean;
  readonly release: Release;
}

/** What claiming does to the world; tests record the calls. */
export interface ClaimEdge {
  readonly platform: NodeJS.Platform;
  readonly open: (path: string) => Pick<SectorDevice, 'sizeBytes' | 'close'>;
  readonly listDrives: () => Promise<readonly Drive[]>;
  readonly unmount: (drive: Drive) => Promise<void>;
}

const systemEdge: ClaimEdge = {
  platform: process.platform,
  open: (path) => openFileDevice(path, 'read'),
  listDrives: () => listDrives(),
  unmount: unmountDrive,
};

/**
 * Makes sure that the medium is still the one that was shown, that no other run holds it and that no volume on it is
 * mounted. In this order, on every system: it is opened, its size is known, its identity is compared, and only then
 * anything lets go of it or is cleared. Throws `stick/swapped`, `stick/in-use`, `stick/refused`.
 */
export async function claimMedium(place: MediumPlace, edge: ClaimEdge = systemEdge): Promise<ClaimedMedium> {
  const { kind, path, target, drive } = place;
  if (kind === 'new-image') await makeImage(path);
  const identity = await identifyStick(kind === 'device' ? kind : 'image', path, undefined, drive).catch(
    () => `path ${path}`,
  );
  const unlock = await lockStick(identity, target);
  let letGo: Release | undefined;
  const release = async (): Promise<void> => {
    await letGo?.();
    await unlock();
  };
  try {
    if (kind === 'new-image') return { mayBeDirect: false, release };
    if (kind === 'device') letGo = await claimDrive(place, edge);
    else await checkNoLoop(place);
    return { mayBeDirect: kind === 'device' && (edge.platform === 'win32' || (await reachesMedium(path))), release };
  } catch (error) {
    await release();
    throw error;
  }
}

/** Empty, and only where nothing has the name: from then on it has an identity that another run would meet. */
async function makeImage(path: string): Promise<void> {
  await writeFile(path, '', { flag: 'wx' }).catch((error: unknown) =>
    Promise.reject(toStickError(error, 'write', path)),
  );
  await syncFolder(dirname(path)); // what comes to lie in it is flushed by whoever writes it
}

/** Resolves to what lets go of it; until then no desktop mounts what is made there. */
async function claimDrive(place: MediumPlace, edge: ClaimEdge): Promise<Release | undefined> {
  const { path, target } = place;
  const opened = edge.open(path);
  try {
    checkSize(place, opened);
    const now = sameDrive(place, await edge.listDrives());
    checkSectorBytes(target, now.sectorBytes ?? (await sectorBytesOf(path)));
    // While it is open, Linux gives its name to no other drive. Elsewhere an open drive may be one that cannot be let
    // go of.
    if (edge.platform !== 'linux') await opened.close();
    await edge.unmount(now);
    if (edge.platform !== 'linux') return undefined;
    const letGo = await holdDevice(path);
    if (letGo !== undefined) return letGo;
    throw inUse(target, 'the system still has a volume on it mounted, or another program holds it');
  } finally {
    await opened.close();
  }
}

/** Throws `stick/swapped` where DEVICE, which is open, is not as long as what was shown. */
export function checkSize({ target, bytes }: MediumPlace, device: Pick<SectorDevice, 'sizeBytes'>): void {
  if (device.sizeBytes !== bytes)
    throw swapped(target, `it has ${device.sizeBytes} bytes now, and had ${bytes} when it was shown`);
}

/** The drive as it is listed now. What it holds may have changed too: somebody may work on it meanwhile. */
function sameDrive({ path, target, drive }: MediumPlace, drives: readonly Drive[]): Drive {
  const now = drives.find(({ device }) => isSameDevice(device, path) || isSameDevice(device, target));
  const marks = ['serial', 'bytes', 'model', 'maker'] as const;
  const isOther = (mark: (typeof marks)[number]): boolean =>
    drive?.[mark] !== now?.[mark] && drive?.[mark] !== undefined && now?.[mark] !== undefined;
  if (marks.some(isOther)) throw swapped(target, 'another drive is plugged in there than the one that was shown');
  // What it was is known, and stays known; but nothing is erased by half a look.
  if (now === undefined || marks.some((mark) => drive?.[mark] !== now[mark])) throw notTold(target);
  const isFree = now.device.startsWith('/dev/loop') ? !now.holdsSystem && (now.holds ?? []).length === 0 : undefined;
  if (isFree === true || (isFree === undefined && now.refusedBecause === undefined)) return now;
  const todo = 'Nothing was written. Take another stick.';
  throw new ToolError('stick/refused', target, `nothing is erased there: ${now.refusedBecause}`, todo);
}

const notTold = (target: string): ToolError =>
  new ToolError(
    'drives/unavailable',
    target,
    'the system does not tell this time whether it is the drive that was shown',
    'Nothing was written. Wait a moment and run the command again; if it stays so, plug the drive in again.',
  );

const swapped = (target: string, message: string): ToolError =>
  new ToolError(
    'stick/swapped',
    target,
    message,
    'Nothing was written. Look with `stickwright drives` which stick is where, and run the command again for the right one.',
  );

/** Linux tells it of a drive also where no list does. */
async function sectorBytesOf(path: string): Promise<number | undefined> {
  const text = await readFile(`/sys/class/block/${basename(path)}/queue/logical_block_size`, 'utf8').catch(() => '');
  return text === '' ? undefined : Number.parseInt(text, 10);
}

/** A loop device shows the image as a drive, and somebody may have mounted that. */
async function checkNoLoop({ path, target }: MediumPlace): Promise<void> {
  const names = (await readdir('/sys/block').catch(() => [])).filter((name) => name.startsWith('loop'));
  for (const name of names) {
    const file = await readFile(`/sys/block/${name}/loop/backing_file`, 'utf8').catch(() => '');
    if (file.trimEnd() === path) throw inUse(target, `it is in use as /dev/${name}`);
  }
}

const inUse = (target: string, message: string): ToolError =>
  new ToolError('stick/in-use', target, message, 'Close what uses it, then run the same command again.');
