import { lstatSync } from 'node:fs';
import { lstat, mkdir, rename, rmdir, unlink } from 'node:fs/promises';
import { join } from 'node:path';
import type { StickEntry, StickFacts } from '../../../core/model/stick-facts.ts';
import { heldWords, unlessHeld } from '../../files/durable-files.ts';
import { errnoOf, heldByOthers, nameRefused, nameTaken, notAsListed, stickFull, stickReadOnly } from '../os-error.ts';
import { BlockPool } from '../read-ahead.ts';
import { type FileParts, stickGone, type Volume, type VolumeReader, type VolumeWriter } from '../volume.ts';
import {
  checkFolderPath,
  type Doing,
  exists,
  isOnlyRespelled,
  isSame,
  MountedRoot,
  type RootParts,
  worthAskingBytes,
} from './folder-path.ts';
import { canReadDirect, openFolderParts, openFolderReader } from './folder-reader.ts';
import { FolderWriter, openNew } from './folder-writer.ts';
import { listFolder, OwnFileSystem } from './list-folder.ts';
import { fits, freeBytesAt } from './read-folder-facts.ts';
import { ChangedPaths, type SyncedFolder, syncEverything } from './sync-folder.ts';

export interface FolderVolumeParts extends RootParts {
  readonly access: 'read' | 'write';
  /** A read around the cache reaches the medium here. */
  readonly readsDirect: boolean;
  readonly syncsWhole: boolean;
  readonly rewritesEntries: boolean;
}

/** On which two names may lead to one place; where the drive may not be read, FAT is told as `unknown`. */
const mayShare: ReadonlySet<string> = new Set(['fat12', 'fat16', 'fat32', 'exfat', 'unknown']);

/** The files below a mounted folder, through the operating system. */
export class FolderVolume implements Volume {
  readonly facts: StickFacts;
  readonly #parts: FolderVolumeParts;
  readonly #root: string;
  readonly #strictNames: boolean;
  readonly #blocks = new BlockPool();
  readonly #changed = new ChangedPaths();
  readonly #own: OwnFileSystem;
  readonly #mounted: MountedRoot;
  #direct: boolean | undefined;

  constructor(parts: FolderVolumeParts) {
    this.facts = parts.facts;
    this.#parts = parts;
    this.#root = parts.root;
    this.#own = new OwnFileSystem(parts.root, parts.rootStat);
    this.#mounted = new MountedRoot(parts);
    const lenient = parts.facts.fileSystem === 'ext' || parts.facts.fileSystem === 'other';
    this.#strictNames = process.platform === 'win32' || !lenient;
    if (!parts.readsDirect) this.#direct = false;
  }

  entries(within = ''): Promise<readonly StickEntry[]> {
    return this.#run('read', this.facts.target, async () => {
      this.#mounted.check();
      if (within !== '' && !(await exists(await this.#place(within, 'existing', 'read')))) return [];
      const stamps = mayShare.has(this.facts.fileSystem);
      const entries = await listFolder(this.#root, within, this.#own.mounts(), { stamps });
      if (this.#mounted.isPulled()) throw stickGone(this.facts.target);
      return entries;
    });
  }

  freeBytes(): Promise<number> {
    return this.#run('read', this.facts.target, async () => {
      this.#mounted.check();
      return freeBytesAt(this.#root, this.#parts.countFreeBytes);
    });
  }

  makeFolder(path: string): Promise<void> {
    return this.#run('write', path, async () => {
      const at = await this.#place(path, 'new', 'write');
      await mkdir(at);
      this.#changed.folderMade(at);
    });
  }

  create(path: string, bytes: number): Promise<VolumeWriter> {
    return this.#run('write', path, async () => {
      const at = await this.#place(path, 'new', 'write');
      if (bytes >= worthAskingBytes && !(await fits(this.#root, bytes)) && !(await exists(at)))
        throw stickFull(path, `${bytes} bytes do not fit into the free space`);
      const handle = await openNew(at, () => this.#mounted.isThere());
      if (handle === undefined) throw stickGone(this.facts.target);
      this.#changed.fileMade(at);
      return new FolderWriter(handle, bytes, (error) => this.#mounted.explain(error, 'write', path));
    });
  }

  open(path: string, how: 'fresh' | 'cached'): Promise<VolumeReader> {
    return this.#run('read', path, async () => {
      const at = await this.#fileAt(path);
      if (how === 'fresh') await this.#changed.syncOne(at);
      const direct = how === 'fresh' && (await this.#opensDirect(at));
      return openFolderReader({
        absolutePath: at,
        readBack: direct ? 'medium' : 'cache',
        pool: this.#blocks,
        explain: (error) => this.#mounted.explain(error, 'read', path),
      });
    });
  }

  openParts(path: string): Promise<FileParts> {
    return this.#run('read', path, async () =>
      openFolderParts(await this.#fileAt(path), (error) => this.#mounted.explain(error, 'read', path)),
    );
  }

  rename(from: string, to: string): Promise<void> {
    return this.#run('write', from, async () => {
      const atFrom = await this.#place(from, 'existing', 'write');
      const atTo = await this.#place(to, 'new', 'write');
      if (to.startsWith(`${from}/`)) throw nameRefused(to, 'a folder cannot be moved into itself');
      const moved = lstatSync(atFrom);
      const inTheWay = lstatSync(atTo, { throwIfNoEntry: false });
      // The same thing under another spelling is a change of case. Node has no rename that refuses to overwrite, so
      // another program could put a file there between this look and the rename.
      if (inTheWay !== undefined && !isSame(moved, inTheWay) && !(await isOnlyRespelled(atFrom, atTo)))
        throw nameTaken(to);
      await this.#held(from, () => rename(atFrom, atTo));
      if (moved.isDirectory()) this.#changed.folderMoved(atFrom, atTo);
      else this.#changed.fileMoved(atFrom, atTo);
    });
  }

  removeFile(path: string): Promise<void> {
    return this.#run('write', path, async () => {
      const at = await this.#place(path, 'existing', 'write');
      if ((await lstat(at)).isDirectory()) throw notAsListed(path, 'it is a folder, not a file');
      await this.#held(path, () => unlink(at));
      this.#changed.removed(at);
    });
  }

  removeFolder(path: string): Promise<void> {
    return this.#run('write', path, async () => {
      const at = await this.#place(path, 'existing', 'write');
      if (!(await lstat(at)).isDirectory()) throw notAsListed(path, 'it is a file, not a folder');
      await this.#held(path, () => rmdir(at)).catch((error: unknown) => {
        const isFilled = ['ENOTEMPTY', 'EEXIST'].includes(errnoOf(error) ?? '');
        throw isFilled ? notAsListed(path, 'the folder is not empty') : error;
      });
      this.#changed.removed(at);
    });
  }

  flush(): Promise<void> {
    return this.#run('write', this.facts.target, async () => {
      this.#mounted.check();
      await this.#changed.syncAll(this.#synced);
    });
  }

  settle(): Promise<boolean> {
    return this.#run('write', this.facts.target, async () => {
      this.#mounted.check();
      // Mounted read-only nothing waits to be written, unless the driver gave up writing in the middle of it.
      if (this.facts.readOnly) return this.facts.dirty !== true;
      return syncEverything(this.#synced);
    });
  }

  async close(): Promise<void> {
    if (!this.#changed.isEmpty) await this.flush();
  }

  async #fileAt(path: string): Promise<string> {
    const at = await this.#place(path, 'existing', 'read');
    const found = lstatSync(at); // at once, for the reason that `OwnFileSystem.check` has
    if (found.isSymbolicLink()) throw notAsListed(path, 'it is a link, and links are not followed');
    if (!found.isFile()) throw notAsListed(path, 'it is not a file');
    return at;
  }

  get #synced(): SyncedFolder {
    const { syncsWhole, rewritesEntries } = this.#parts;
    return { root: this.#root, syncsWhole, rewritesEntries };
  }

  async #place(path: string, kind: 'new' | 'existing', doing: Doing): Promise<string> {
    if (doing === 'write' && (this.facts.readOnly || this.#parts.access === 'read')) throw stickReadOnly(path);
    checkFolderPath(path, kind, this.#strictNames);
    this.#mounted.check();
    if (doing === 'write') this.#own.check(path, kind === 'existing');
    else this.#own.checkToRead(path);
    return join(this.#root, ...path.split('/'));
  }

  /** Says what holds up where it did so for long. */
  async #held(path: string, change: () => Promise<void>): Promise<void> {
    await unlessHeld(change).catch((error: unknown) => {
      throw process.platform === 'win32' && heldWords.has(errnoOf(error) ?? '') ? heldByOthers(path, error) : error;
    });
  }

  async #opensDirect(at: string): Promise<boolean> {
    this.#direct ??= await canReadDirect(at, this.#blocks);
    return this.#direct;
  }

  /** What was seen or done counts only if the stick is still there when it is over. */
  async #run<T>(doing: Doing, subject: string, work: () => Promise<T>): Promise<T> {
    try {
      const answer = await work();
      this.#mounted.check();
      return answer;
    } catch (error) {
      throw await this.#mounted.explain(error, doing, subject);
    }
  }
}
