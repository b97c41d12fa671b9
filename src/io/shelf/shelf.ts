import type { DamagedEntry } from '../../core/shelf/check-newcomer.ts';
import type { ExportResult, Leftovers } from '../../core/shelf/check-shelf.ts';
import type { ShelfRecord, ShelvedPackage } from '../../core/shelf/shelf-record.ts';
import type { PassListener } from '../archive/archive.ts';
import type { ContentDigest } from '../files/copy-file.ts';
import type { Delivery, Received } from '../files/take-in.ts';

/**
 * The desk's store of packages, perhaps shared by several desks through a folder that they all reach.
 *
 * A package and its record appear together, by one rename of their folder, and vanish together by another. Nothing that
 * lies on the shelf is ever written again, so whatever a reader sees is whole; what a desk that was cut off leaves
 * behind is never seen as a package. There are no locks, no index, and no two writers for one place.
 */
export interface Shelf {
  /** The folder. */
  readonly place: string;
  /** Everything that is whole, and everything that is not. Packages that are removed meanwhile are left out. */
  list(): Promise<ShelfListing>;
  /** Begins to keep a package under its own name; clears away what other desks left unfinished a day ago. */
  beginAdd(name: string): Promise<Incoming>;
  /** Takes in a file that somebody hands over, to be added from there under this name; the shelf's rules allow it. */
  receive(name: string, delivery: Delivery): Promise<Received>;
  /** Takes a package off the shelf with its record, and nothing else. False where it was gone already. */
  remove(id: string): Promise<boolean>;
  /** Reads a package again. Throws ToolError `file/unreadable`, `file/not-found`, or the signal's reason. */
  digest(shelved: ShelvedPackage, heard: (bytes: number) => void, signal: AbortSignal): Promise<ContentDigest>;
  /**
   * Copies a package into a folder under its own name, compares what was read and what was written with its record, and
   * only then gives it the name. Throws ToolError `shelf/content-changed` where it is no longer what was recorded.
   */
  export(shelved: ShelvedPackage, folder: string, signal: AbortSignal): Promise<ExportResult>;
  /** What does not belong: files that nobody here wrote, and what cut-off desks left. */
  leftovers(): Promise<Leftovers>;
}

export interface ShelfListing {
  readonly packages: readonly ShelvedPackage[];
  readonly damaged: readonly DamagedEntry[];
}

/** A package on its way to the shelf. End it with `publish` or `discard`. */
export interface Incoming {
  /** Hears the archive being read and keeps its bytes. */
  readonly listener: PassListener;
  /**
   * Flushes what was kept, reads it back, compares it with the record, and puts both on the shelf in one step. Throws
   * ToolError `shelf/write-failed` where what was kept is not what the record says.
   */
  publish(record: ShelfRecord): Promise<ShelvedPackage>;
  /** Leaves nothing behind. */
  discard(): Promise<void>;
}
