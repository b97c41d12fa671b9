import { setImmediate as yieldToLoop } from 'node:timers/promises';
import * as FatFs from 'js-fatfs';
import type { StickEntry } from '../../../core/model/stick-facts.ts';
import { mostEntries, stickFailed, tooManyEntries } from '../os-error.ts';
import type { FatFsSession } from './fatfs-session.ts';

/** `FFOBJID.sclust` inside `DIR` (FatFs ff.h); its place is held by a test against the pinned version. */
const firstClusterAt = 8;

/**
 * Folders before what is in them, WITHIN a folder or all, each folder in the order of its slots. What `isHidden` says of is left out, with all below
 * it. A folder that contains itself ends the walk.
 */
export async function listFatEntries(
  session: FatFsSession,
  within: string,
  isHidden: (path: string) => boolean,
): Promise<readonly StickEntry[]> {
  const entries: StickEntry[] = [];
  const seen = new Set<number>();
  const visit = async (folder: string): Promise<void> => {
    const found = readFolder(session, folder, seen).filter(({ path }) => !isHidden(path));
    if (entries.length + found.length > mostEntries) throw tooManyEntries(folder || '/');
    await yieldToLoop();
    for (const entry of found) {
      entries.push(entry);
      if (entry.kind === 'folder') await visit(entry.path);
    }
  };
  await visit(within);
  return entries;
}

function readFolder(session: FatFsSession, folder: string, seen: Set<number>): readonly StickEntry[] {
  const { ff } = session;
  return session.withMemory(FatFs.sizeof_DIR, (dir) =>
    session.withMemory(FatFs.sizeof_FILINFO, (info) => {
      const subject = folder || '/';
      session.check(ff.f_opendir(dir, `/${folder}`), 'read', subject);
      try {
        const cluster = ff.getValue(dir + firstClusterAt, 'i32') >>> 0;
        if (seen.has(cluster))
          throw stickFailed('read', subject, 'the FAT volume is damaged: a folder contains itself');
        seen.add(cluster);
        return readSlots(session, dir, info, folder);
      } finally {
        ff.f_closedir(dir);
      }
    }),
  );
}

function readSlots(session: FatFsSession, dir: number, info: number, folder: string): StickEntry[] {
  const { ff } = session;
  const entries: StickEntry[] = [];
  for (;;) {
    session.check(ff.f_readdir(dir, info), 'read', folder || '/');
    const name = ff.FILINFO_fname(info);
    if (name === '') return entries;
    const isFolder = (ff.FILINFO_fattrib(info) & FatFs.AM_DIR) !== 0;
    const bytes = isFolder ? 0 : ff.FILINFO_fsize(info) >>> 0;
    entries.push({ path: folder === '' ? name : `${folder}/${name}`, kind: isFolder ? 'folder' : 'file', bytes });
  }
}
