import { constants } from 'node:fs';
import { open, readdir, readFile } from 'node:fs/promises';
import { ToolError } from '../../core/model/tool-error.ts';
import { parseMountInfo } from '../drives/linux/parse-mountinfo.ts';
import type { Place } from './look-at-target.ts';
import { errnoOf } from './os-error.ts';

/** A volume that the system has mounted must not be written behind its back. */
export async function checkNotMounted({ target, kind, path }: Place): Promise<void> {
  if (process.platform !== 'linux' || kind === 'folder') return;
  const holder = kind === 'image' ? ((await loopOver(path)) ?? (await mountOver(path))) : await exclusivelyHeld(path);
  if (holder === undefined) return;
  throw new ToolError(
    'stick/in-use',
    target,
    holder,
    'Unmount it first, or give the folder where it is mounted instead.',
  );
}

/** open(2): O_EXCL without O_CREAT on a block device fails with EBUSY while it, or a part of it, is mounted. */
async function exclusivelyHeld(path: string): Promise<string | undefined> {
  try {
    await (await open(path, constants.O_RDONLY | constants.O_EXCL)).close();
    return undefined;
  } catch (error) {
    return errnoOf(error) === 'EBUSY' ? 'the system has it mounted, or another program holds it' : undefined;
  }
}

/** The loop device that shows this image file as a drive. */
async function loopOver(path: string): Promise<string | undefined> {
  const names = (await readdir('/sys/block').catch(() => [])).filter((name) => name.startsWith('loop'));
  for (const name of names) {
    const file = await readFile(`/sys/block/${name}/loop/backing_file`, 'utf8').catch(() => '');
    if (file.trimEnd() === path) return `it is in use as /dev/${name}`;
  }
  return undefined;
}

/** A program behind FUSE serves this image file as a folder, and names it as its source. */
async function mountOver(path: string): Promise<string | undefined> {
  const rows = parseMountInfo(await readFile('/proc/self/mountinfo', 'utf8'));
  const row = rows.find((one) => one.source === path);
  return row === undefined ? undefined : `it is mounted at ${row.mountPoint}`;
}
