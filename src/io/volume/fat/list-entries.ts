import { setImmediate as yieldToLoop } from 'node:timers/promises';
import * as FatFs from 'js-fatfs';
import type { StickEntry } from '../../../core/model/stick-facts.ts';
import { fatNameProblem, foldName } from '../../../core/volume-format/fat-name.ts';
import type { CutWork } from '../../../core/volume-format/find-cut-names.ts';
import { mostEntries, nameRefused, notAsListed, stickFailed, tooManyEntries } from '../os-error.ts';
import { deviceSectorBytes, type SectorDevice } from '../sector-device.ts';
import type { FatFsSession } from './fatfs-session.ts';

/** `FFOBJID.sclust` inside `DIR` (FatFs ff.h); its place is held by a test against the pinned version. */
const firstClusterAt = 8;

/**
 * Folders before what is in them, WITHIN a folder or all, each folder in the order of its slots. What `isHidden` says
 * of is left out, with all below it. A folder that contains itself ends the walk.
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

/** FatFs would split at these, take them for a drive, or drop the character in silence. */
const unreachable = /[\\:]|[. ]$/;

/**
 * PATH as FatFs takes it. A `new` name must be one that FAT can hold as it is spelled; an `existing` one may be a name
 * that only other systems object to, but not one that FatFs would take for another.
 */
export function toFatPath(path: string, kind: 'new' | 'existing'): string {
  const parts = path.split('/');
  for (const [index, part] of parts.entries()) {
    const isNew = kind === 'new' && index === parts.length - 1;
    const problem = isNew ? fatNameProblem(part) : existingNameProblem(part);
    if (problem !== undefined) throw nameRefused(path, problem);
  }
  return `/${path}`;
}

function existingNameProblem(part: string): string | undefined {
  if (part === '' || part === '.' || part === '..') return 'it is not a name';
  return unreachable.test(part) ? 'FAT readers would take it for another name' : undefined;
}

/** Names that a cut left behind: not seen by anybody, and taken out before the first change. */
export class CutNames {
  readonly #device: SectorDevice;
  readonly #find: () => CutWork;
  #found: CutWork | undefined;

  /** DEVICE starts at the volume. They are looked for once, since nothing that is done here leaves any. */
  constructor(device: SectorDevice, find: () => CutWork) {
    this.#device = device;
    this.#find = find;
  }

  /** Tells their paths from all others, in whatever case. */
  test(): (path: string) => boolean {
    const paths = new Set(this.#all().names.map(({ path }) => path));
    return (path) => paths.has(foldName(path));
  }

  /**
   * Takes them out of their folders, makes the tables alike where the root grew, and says whether there was anything
   * to do. Their clusters stay: another name may have them.
   */
  drop(): boolean {
    const slots = this.#all().names.flatMap(({ slotsAt }) => slotsAt);
    const { behind } = this.#all();
    this.#found = { ...this.#all(), names: [], behind: [] };
    for (const { at, value } of behind) this.#change(at, (view) => view.setUint32(0, value, true));
    // A free slot (FAT specification, section 6).
    for (const at of slots) this.#change(at, (view) => view.setUint8(0, 0xe5));
    return slots.length + behind.length > 0;
  }

  #change(at: number, change: (view: DataView) => void): void {
    const first = Math.floor(at / deviceSectorBytes);
    const sector = new Uint8Array(deviceSectorBytes);
    this.#device.readSectors(first, sector);
    change(new DataView(sector.buffer, at % deviceSectorBytes));
    this.#device.writeSectors(first, sector);
  }

  /** Clusters that the file at PATH held beyond its length, or lacked, when the volume was opened. */
  heldBy(path: string): number {
    return this.#all().held.get(foldName(path)) ?? 0;
  }

  #all(): CutWork {
    this.#found ??= this.#find();
    return this.#found;
  }
}

export type Kind = 'file' | 'folder';

/** FatFs removes an empty folder as if it were a file. */
export function expectKind(session: FatFsSession, kind: Kind, fatPath: string, path: string): void {
  const found = kindOf(session, fatPath, path);
  if (found === undefined) throw notAsListed(path, 'it is not on the stick');
  if (found !== kind) throw notAsListed(path, `it is a ${found}, not a ${kind}`);
}

export function kindOf(session: FatFsSession, fatPath: string, path: string): Kind | undefined {
  const { ff } = session;
  return session.withMemory(FatFs.sizeof_FILINFO, (info) => {
    const result = ff.f_stat(fatPath, info);
    if (result === FatFs.FR_NO_FILE || result === FatFs.FR_NO_PATH) return undefined;
    session.check(result, 'read', path);
    return (ff.FILINFO_fattrib(info) & FatFs.AM_DIR) !== 0 ? 'folder' : 'file';
  });
}
