import { dirname, join } from 'node:path';
import { syncFile } from '../../files/sync-paths.ts';
import { type SyncedFolder, syncChanged } from './sync-folder.ts';

type Kind = 'made' | 'moved' | 'movedFolders' | 'filled' | 'emptied';
const kinds: readonly Kind[] = ['made', 'moved', 'movedFolders', 'filled', 'emptied'];

/** What was changed below a folder since it was last brought to the medium; all paths are absolute. */
export class ChangedPaths {
  #paths = emptyPaths();

  fileMade(path: string): void {
    this.#paths.made.add(path);
    this.#paths.filled.add(dirname(path));
  }

  folderMade(path: string): void {
    this.#paths.filled.add(path).add(dirname(path));
  }

  removed(path: string): void {
    for (const kind of kinds) this.#paths[kind].delete(path);
    this.#paths.emptied.add(dirname(path));
  }

  /** Also one that was on the medium under its old name: the new name is another entry, which the driver may fill later. */
  fileMoved(from: string, to: string): void {
    this.#paths.moved.delete(from);
    this.#paths[this.#paths.made.delete(from) ? 'made' : 'moved'].add(to);
    this.#movedBetween(from, to);
  }

  /** What lies in it has moved with it. */
  folderMoved(from: string, to: string): void {
    for (const kind of kinds) {
      const set = this.#paths[kind];
      for (const path of [...set]) {
        if (path !== from && !path.startsWith(join(from, '/'))) continue;
        set.delete(path);
        set.add(to + path.slice(from.length));
      }
    }
    this.#paths.movedFolders.add(to);
    this.#movedBetween(from, to);
  }

  get isEmpty(): boolean {
    return kinds.every((kind) => this.#paths[kind].size === 0);
  }

  /** Brings one file's bytes to the medium, if they are not there yet. */
  async syncOne(path: string): Promise<void> {
    if (!this.#paths.made.has(path) && !this.#paths.moved.has(path)) return;
    await syncFile(path);
    this.#paths.made.delete(path);
    this.#paths.moved.delete(path);
  }

  /** Brings everything to the medium that is in here now; what changes meanwhile stays for the next time. */
  async syncAll(volume: SyncedFolder): Promise<void> {
    const now = this.#paths;
    this.#paths = emptyPaths();
    try {
      const { made, moved, movedFolders, filled, emptied } = now;
      await syncChanged(volume, {
        made: [...made],
        moved: [...moved],
        movedFolders: [...movedFolders],
        filled: [...filled],
        emptied: [...emptied],
      });
    } catch (error) {
      for (const kind of kinds) for (const path of now[kind]) this.#paths[kind].add(path);
      throw error;
    }
  }

  #movedBetween(from: string, to: string): void {
    this.#paths.filled.add(dirname(to));
    this.#paths.emptied.add(dirname(from));
  }
}

const emptyPaths = (): Readonly<Record<Kind, Set<string>>> => ({
  made: new Set(),
  moved: new Set(),
  movedFolders: new Set(),
  filled: new Set(),
  emptied: new Set(),
});
