import { foldName } from './fat-name.ts';
import { chainEnds } from './fat-table.ts';
import { folderPieces, isCluster, placeOf, startOf, type TabledVolume } from './folder-pieces.ts';
import { SlotReader } from './read-slots.ts';

/** A stretch of a volume, in bytes from its start. */
export interface Span {
  readonly at: number;
  readonly bytes: number;
}

interface Named {
  readonly isFolder: boolean;
  readonly start: number;
  readonly bytes: number;
}

/** By name as it is spelled, and as FAT folds it where no other thing is spelled so. */
type Folder = ReadonlyMap<string, Named>;

const inFolder = (folder: Folder | undefined, name: string): Named | undefined =>
  folder?.get(name) ?? folder?.get(foldName(name));

/** Files are asked for folder by folder, so few folders need be kept; the folders above lie among them. */
const keptFolders = 4;

/** Finds where files lie on a volume, as it was when it was first looked at. */
export class FileFinder {
  readonly #volume: TabledVolume;
  readonly #folders = new Map<string, Folder>();

  constructor(volume: TabledVolume) {
    this.#volume = volume;
  }

  /**
   * Where the content of PATH lies, in the file's order; neighbouring clusters are one span. Undefined where there is
   * no such file, or where the table does not lead to its end: reading it in another way then says what is wrong.
   */
  spans(path: string): readonly Span[] | undefined {
    const file = this.#find(path);
    if (file === undefined || file.isFolder) return undefined;
    const { geometry, table } = this.#volume;
    const spans: { at: number; bytes: number }[] = [];
    let cluster = file.start;
    for (let left = file.bytes; left > 0; ) {
      if (!isCluster(geometry, cluster)) return undefined;
      const at = placeOf(geometry, cluster);
      const here = Math.min(left, geometry.clusterBytes);
      const last = spans.at(-1);
      if (last !== undefined && last.at + last.bytes === at) last.bytes += here;
      else spans.push({ at, bytes: here });
      left -= here;
      cluster = left > 0 ? table.step(cluster) : chainEnds.end;
    }
    return spans;
  }

  #find(path: string): Named | undefined {
    const parts = path.split('/');
    const name = parts.pop() ?? '';
    return inFolder(this.#folder(parts), name);
  }

  #folder(parts: readonly string[]): Folder | undefined {
    const path = parts.join('/');
    const known = this.#folders.get(path);
    if (known !== undefined) {
      this.#folders.delete(path); // and to the end: it was used last
      this.#folders.set(path, known);
      return known;
    }
    const above = parts.length === 0 ? undefined : inFolder(this.#folder(parts.slice(0, -1)), parts.at(-1) ?? '');
    if (parts.length > 0 && above?.isFolder !== true) return undefined;
    const folder = this.#read(above?.start);
    this.#folders.set(path, folder);
    const [oldest] = this.#folders.keys();
    if (this.#folders.size > keptFolders && oldest !== undefined) this.#folders.delete(oldest);
    return folder;
  }

  #read(start: number | undefined): Folder {
    const { geometry } = this.#volume;
    const names = new Map<string, Named>();
    const folded = new Map<string, Named>();
    const slots = new SlotReader();
    for (const { bytes } of folderPieces(this.#volume, start)) {
      for (const slot of slots.read(bytes)) {
        if ((slot.kind !== 'file' && slot.kind !== 'folder') || names.has(slot.name)) continue;
        const start = startOf(geometry, slot.startCluster);
        const named = { isFolder: slot.kind === 'folder', start, bytes: slot.bytes };
        names.set(slot.name, named);
        if (!folded.has(foldName(slot.name))) folded.set(foldName(slot.name), named);
      }
      if (slots.ended) break;
    }
    return new Map([...folded, ...names]);
  }
}
