import type { Stats } from 'node:fs';
import { realpath, stat } from 'node:fs/promises';
import type { TargetKind } from '../../core/model/stick-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';
import type { Mount } from '../drives/drive-source.ts';
import type { Drive } from '../drives/drives.ts';
import { findDriveSource } from '../drives/find-source.ts';
import { listDrives } from '../drives/list-drives.ts';
import { errnoOf, toStickError } from './os-error.ts';

/** A target after looking at it and before opening it. */
export interface Place {
  readonly target: string;
  readonly kind: TargetKind;
  readonly path: string;
  readonly stat: Stats;
  readonly mount: Mount | undefined;
  readonly drive: Drive | undefined;
  /** Why the drive is not known, where the list of drives failed or did not come in time. */
  readonly unlisted: ToolError | undefined;
}

/** Follows the links of TARGET once, here; later only the path behind them is used. Throws `stick/not-found`. */
export async function lookAtTarget(target: string): Promise<Place> {
  const { path, stats } = await findTarget(target);
  const kind = kindOf(stats, target);
  const source = await findDriveSource();
  const mount = kind === 'device' ? undefined : await source?.mountOf(path).catch(() => undefined);
  const device = kind === 'device' ? path : kind === 'folder' ? mount?.device : undefined;
  return { target, kind, path, stat: stats, mount, ...(await findDrive(device)) };
}

async function findTarget(target: string): Promise<{ path: string; stats: Stats }> {
  try {
    // Windows names a drive's own root only with the backslash: `E:` means wherever that drive was last.
    const path = await realpath(/^[a-z]:$/i.test(target) ? `${target}\\` : target);
    return { path, stats: await stat(path) };
  } catch (error) {
    if (errnoOf(error) !== 'ENOENT' && errnoOf(error) !== 'ENOTDIR') throw toStickError(error, 'read', target);
    throw new ToolError(
      'stick/not-found',
      target,
      'there is no such folder, image file or device',
      'Look at the spelling, plug the stick in, and ask `stickwright drives` for its place.',
    );
  }
}

function kindOf(stats: Stats, target: string): TargetKind {
  if (stats.isDirectory()) return 'folder';
  if (stats.isFile()) return 'image';
  // macOS shows raw drives as character devices too.
  if (stats.isBlockDevice() || (process.platform === 'darwin' && stats.isCharacterDevice())) return 'device';
  throw new ToolError(
    'stick/not-found',
    target,
    'it is neither a folder, an image file nor a drive',
    'Give the folder where the stick is mounted, its drive letter, an image file or a raw device.',
  );
}

/** The drive that is, or holds, DEVICE. A system that lists no drives leaves that unknown, and reading goes on without. */
async function findDrive(device: string | undefined): Promise<Pick<Place, 'drive' | 'unlisted'>> {
  if (device === undefined) return { drive: undefined, unlisted: undefined };
  const same = (one: string): boolean => one === device || `\\\\.\\${one}` === device;
  try {
    const drives = await listDrives();
    const drive = drives.find((one) => same(one.device) || one.volumes.some((volume) => same(volume.device)));
    return { drive, unlisted: undefined };
  } catch (error) {
    if (!(error instanceof ToolError)) throw error;
    return { drive: undefined, unlisted: error };
  }
}
