import { open } from 'node:fs/promises';
import { dirname } from 'node:path';
import { layoutSectorBytes } from '../../core/volume-format/layout/plan-fat-layout.ts';
import { syncFolder } from '../files/sync-paths.ts';
import { toStickError } from '../volume/os-error.ts';
import { layOutStick, type StickWish } from './lay-out-stick.ts';

export type StickImageOptions = StickWish;

/**
 * Makes a new sparse image file of an empty FAT stick. Throws ToolError `stick/name-taken` where PATH exists, `stick/refused`
 * where there is no such volume, and what the disk says.
 */
export async function createStickImage(path: string, options: StickImageOptions): Promise<void> {
  const { writes } = layOutStick(path, options);
  try {
    const file = await open(path, 'wx');
    try {
      await file.truncate(options.bytes);
      for (const { sector, bytes } of writes) await file.write(bytes, 0, bytes.length, sector * layoutSectorBytes);
      await file.sync();
    } finally {
      await file.close();
    }
    await syncFolder(dirname(path));
  } catch (error) {
    throw toStickError(error, 'write', path);
  }
}
