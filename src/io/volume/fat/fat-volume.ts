import * as FatFs from 'js-fatfs';
import type { StickEntry, StickFacts } from '../../../core/model/stick-facts.ts';
import { ToolError } from '../../../core/model/tool-error.ts';
import { clustersFor } from '../../../core/volume-format/fat-geometry.ts';
import { fatMaxFileBytes, foldName } from '../../../core/volume-format/fat-name.ts';
import { markedReadOnly, nameRefused, nameTaken, notAsListed, stickFull, stickReadOnly } from '../os-error.ts';
import type { SectorDevice } from '../sector-device.ts';
import type { FileParts, Volume, VolumeReader, VolumeWriter } from '../volume.ts';
import { createFatWriter } from './fat-writer.ts';
import type { FatFsSession } from './fatfs-session.ts';
import type { FreshPlaces } from './fresh-places.ts';
import { type CutNames, expectKind, type Kind, kindOf, listFatEntries, toFatPath } from './list-entries.ts';
import type { ChangeOrder, OrderedDevice } from './ordered-device.ts';
import { openFatReader, type ReaderPool } from './reader-pool.ts';

export interface FatVolumeParts {
  readonly facts: StickFacts;
  readonly session: FatFsSession;
  readonly device: SectorDevice;
  /** The volume on it, as the session sees it. */
  readonly ordered: OrderedDevice;
  readonly cutNames: CutNames;
  readonly renameOrder: (from: string, to: string) => ChangeOrder;
  /** Unfinished work of a preparation, which may be lost but for the space it takes. */
  readonly isStaged: (path: string) => boolean;
  /** How often the medium has been written. */
  readonly writes: () => number;
  readonly openFreshPool: () => ReaderPool;
  readonly openFreshPlaces: () => FreshPlaces;
  readonly openCachedPool: () => ReaderPool;
}

/** The files of a FAT volume through FatFs. FatFs does not know which files are open, so this does. */
export class FatVolume implements Volume {
  readonly facts: StickFacts;
  readonly #parts: FatVolumeParts;
  readonly #session: FatFsSession;
  readonly #beingWritten = new Set<string>();
  /** Paths that this run gave to something: what a cut left there is gone. */
  readonly #made = new Set<string>();
  #flushedAt = 0;
  #fresh: ReaderPool | undefined;
  #cached: ReaderPool | undefined;
  #places: FreshPlaces | undefined;
  #open = true;

  constructor(parts: FatVolumeParts) {
    this.facts = parts.facts;
    this.#parts = parts;
    this.#session = parts.session;
  }

  entries(within = ''): Promise<readonly StickEntry[]> {
    return this.#reading(async (session) => {
      if (within !== '' && kindOf(session, toFatPath(within, 'existing'), within) !== 'folder') return [];
      const entries = await listFatEntries(session, within, this.#parts.cutNames.test());
      return entries.map((entry) => this.#withHeld(entry));
    });
  }

  /** What a cut left half taken or half given back goes with the file, so whoever counts space must know. */
  #withHeld(entry: StickEntry): StickEntry {
    const clusters = this.#made.has(foldName(entry.path)) ? 0 : this.#parts.cutNames.heldBy(entry.path);
    return clusters === 0 ? entry : { ...entry, heldBytes: clusters * this.#session.geometry.clusterBytes };
  }

  async freeBytes(): Promise<number> {
    return this.#freeClusters() * this.#session.geometry.clusterBytes;
  }

  async makeFolder(path: string): Promise<void> {
    await this.#mayChange(path);
    const fatPath = toFatPath(path, 'new');
    const result = await this.#parts.ordered.inOrder(() => this.#session.ff.f_mkdir(fatPath));
    this.#check(result, path);
  }

  async create(path: string, bytes: number): Promise<VolumeWriter> {
    await this.#mayChange(path);
    const fatPath = toFatPath(path, 'new');
    const tooMuch = this.#tooMuch(bytes);
    if (tooMuch !== undefined) {
      throw kindOf(this.#session, fatPath, path) === undefined ? stickFull(path, tooMuch) : nameTaken(path);
    }
    this.#beingWritten.add(foldName(path));
    this.#made.add(foldName(path));
    const done = (): void => void this.#beingWritten.delete(foldName(path));
    return createFatWriter(this.#session, this.#parts.ordered, fatPath, bytes, done).catch((error: unknown) => {
      done();
      // FatFs has one answer for "a folder has that name" and for "no space for a name".
      const isFull = error instanceof ToolError && error.code === 'stick/full';
      throw isFull && kindOf(this.#session, fatPath, path) === 'folder' ? nameTaken(path) : error;
    });
  }

  async open(path: string, how: 'fresh' | 'cached'): Promise<VolumeReader> {
    const fatPath = toFatPath(path, 'existing');
    await this.#reading(async (session) => expectKind(session, 'file', fatPath, path));
    if (how === 'cached') return openFatReader(this.#cachedPool(), fatPath);
    // FatFs knows best what is wrong with a file that cannot be followed.
    return (await this.#freshPlaces()).open(path) ?? openFatReader(await this.#freshPool(), fatPath);
  }

  async openParts(path: string): Promise<FileParts> {
    const parts = (await this.#freshPlaces()).parts(path);
    if (parts === undefined) throw notAsListed(path, 'its place on the stick cannot be told');
    return parts;
  }

  async rename(from: string, to: string): Promise<void> {
    await this.#mayChange(from);
    const [fatFrom, fatTo] = [toFatPath(from, 'existing'), toFatPath(to, 'new')];
    // FatFs would cut the folder off from the tree.
    if (foldName(to).startsWith(`${foldName(from)}/`)) throw nameRefused(to, 'a folder cannot be moved into itself');
    const order = this.#parts.renameOrder(from, to);
    this.#check(await this.#parts.ordered.inOrder(() => this.#session.ff.f_rename(fatFrom, fatTo), order), from);
  }

  removeFile(path: string): Promise<void> {
    return this.#remove('file', path);
  }

  removeFolder(path: string): Promise<void> {
    return this.#remove('folder', path);
  }

  async flush(): Promise<void> {
    this.#session.checkWritable();
    const upTo = this.#parts.writes();
    try {
      await this.#parts.device.flush();
    } catch (error) {
      this.#session.fail(error);
      throw error;
    }
    this.#flushedAt = upTo;
  }

  async settle(): Promise<boolean> {
    if (this.#parts.device.readOnly) await this.#parts.device.flush();
    else await this.flush();
    return true;
  }

  async close(): Promise<void> {
    if (!this.#open) return;
    this.#open = false;
    try {
      // Whoever met a failed write has been told; closing only lets go.
      if (!this.#session.hasFailed) await this.#flushAll();
    } finally {
      await this.#fresh?.close();
      await this.#cached?.close();
      await this.#places?.close();
      this.#session.close();
      await this.#parts.device.close();
    }
  }

  async #remove(kind: Kind, path: string): Promise<void> {
    await this.#mayChange(path);
    const fatPath = toFatPath(path, 'existing');
    expectKind(this.#session, kind, fatPath, path);
    const unlink = (): number => this.#session.ff.f_unlink(fatPath);
    const { ordered } = this.#parts;
    const result = await (this.#parts.isStaged(path) ? ordered.fromItsEnd(unlink) : ordered.inOrder(unlink));
    if (result === FatFs.FR_DENIED) {
      throw this.#isMarkedReadOnly(fatPath) ? markedReadOnly(path) : notAsListed(path, 'the folder is not empty');
    }
    this.#check(result, path);
  }

  #isMarkedReadOnly(fatPath: string): boolean {
    const { ff } = this.#session;
    return this.#session.withMemory(FatFs.sizeof_FILINFO, (info) => {
      return ff.f_stat(fatPath, info) === FatFs.FR_OK && (ff.FILINFO_fattrib(info) & FatFs.AM_RDO) !== 0;
    });
  }

  /** After a failed write the writing instance is stuck with what it could not write; then another one reads. */
  async #reading<T>(use: (session: FatFsSession) => Promise<T>): Promise<T> {
    if (!this.#session.hasFailed) return use(this.#session);
    const lent = await this.#cachedPool().lend();
    try {
      return await use(lent.session);
    } finally {
      lent.giveBack();
    }
  }

  async #flushAll(): Promise<void> {
    if (this.#flushedAt !== this.#parts.writes()) await this.flush();
  }

  async #freshPlaces(): Promise<FreshPlaces> {
    await this.#flushAll();
    this.#places ??= this.#parts.openFreshPlaces();
    return this.#places;
  }

  /** What was written so far is on the medium first. */
  async #freshPool(): Promise<ReaderPool> {
    await this.#flushAll();
    this.#fresh ??= this.#parts.openFreshPool();
    return this.#fresh;
  }

  #cachedPool(): ReaderPool {
    this.#cached ??= this.#parts.openCachedPool();
    return this.#cached;
  }

  #tooMuch(bytes: number): string | undefined {
    if (bytes > fatMaxFileBytes) return `a FAT volume holds no file over ${fatMaxFileBytes} bytes`;
    const needed = clustersFor(bytes, this.#session.geometry.clusterBytes);
    return needed > this.#freeClusters() ? `${bytes} bytes do not fit into the free space` : undefined;
  }

  #freeClusters(): number {
    const { ff } = this.#session;
    return this.#session.withMemory(8, (memory) => {
      this.#session.check(ff.f_getfree('', memory, memory + 4), 'read', this.facts.target);
      return ff.getValue(memory, 'i32') >>> 0;
    });
  }

  async #mayChange(path: string): Promise<void> {
    if (this.#parts.device.readOnly) throw stickReadOnly(path);
    this.#session.checkWritable();
    const key = foldName(path);
    for (const open of this.#beingWritten) {
      if (open === key || open.startsWith(`${key}/`)) throw new Error(`${path} is still being written`);
    }
    const { facts, cutNames } = this.#parts;
    if (cutNames.drop()) this.#session.mount(facts.freeBytes / this.#session.geometry.clusterBytes);
  }

  #check(result: number, path: string): void {
    this.#session.check(result, 'write', path);
    this.#session.checkWritable();
  }
}
