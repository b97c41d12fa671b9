import { dirname, join } from 'node:path';
import { syncFile, syncToMedium } from './sync-folder.ts';

/** What was changed below a folder since it was last brought to the medium; all paths are absolute. */
export class ChangedPaths {
  readonly #files = new Set<string>();
  readonly #folders = new Set<string>();

  fileMade(path: string): void {
    this.#files.add(path);
    this.#folders.add(dirname(path));
  }

  folderMade(path: string): void {
    this.#folders.add(path).add(dirname(path));
  }

  removed(path: string): void {
    this.#files.delete(path);
    this.#folders.delete(path);
    this.#folders.add(dirname(path));
  }

  fileMoved(from: string, to: string): void {
    if (this.#files.delete(from)) this.#files.add(to);
    this.#folders.add(dirname(from)).add(dirname(to));
  }

  /** What lies in it has moved with it. */
  folderMoved(from: string, to: string): void {
    for (const set of [this.#files, this.#folders]) {
      for (const path of [...set]) {
        if (path !== from && !path.startsWith(join(from, '/'))) continue;
        set.delete(path);
        set.add(to + path.slice(from.length));
      }
    }
    this.#folders.add(dirname(from)).add(dirname(to));
  }

  get isEmpty(): boolean {
    return this.#files.size + this.#folders.size === 0;
  }

  /** Brings one file's bytes to the medium, if they are not there yet. */
  async syncOne(path: string): Promise<void> {
    if (!this.#files.has(path)) return;
    await syncFile(path);
    this.#files.delete(path);
  }

  /** Brings everything to the medium that is in here now; what changes meanwhile stays for the next time. */
  async syncAll(root: string): Promise<void> {
    const [files, folders] = [[...this.#files], [...this.#folders]];
    await syncToMedium(root, files, folders);
    for (const file of files) this.#files.delete(file);
    for (const folder of folders) this.#folders.delete(folder);
  }
}
