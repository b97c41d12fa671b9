import type { StickEntry, StickFacts } from '../../core/model/stick-facts.ts';
import { ToolError } from '../../core/model/tool-error.ts';

/** `medium`: the bytes came from the stick itself. `cache`: the operating system may have answered from memory. */
export type ReadBackKind = 'medium' | 'cache';

export interface VolumeReader {
  readonly readBack: ReadBackKind;
  /** The file's bytes in order; a chunk is only valid until the next is asked for. */
  chunks(): AsyncIterable<Uint8Array>;
}

/** A file of which only parts are read. */
export interface FileParts {
  /** Fills LENGTH bytes of BUFFER from OFFSET on with those at POSITION; fewer come only where the file ends. */
  read(buffer: Buffer, offset: number, length: number, position: number): Promise<{ readonly bytesRead: number }>;
  close(): Promise<void>;
}

export interface VolumeWriter {
  /** Returns when all bytes are handed on; the chunk may be reused then. Throws `stick/full` and never writes short. */
  write(chunk: Uint8Array): Promise<void>;
  /** Ends the file with the size written so far. A writer is always closed, also after a failed write. */
  close(): Promise<void>;
}

/**
 * The files of a stick. Paths use `/`, are relative to the volume's root and are taken as they are spelled; a name
 * that the file system cannot hold is refused, never changed.
 *
 * Every method throws ToolError: `stick/gone` where the volume vanished, `stick/full`, `stick/read-only`,
 * `stick/damaged` where the volume's own structure is what fails, `stick/read-failed`, `stick/write-failed`,
 * `stick/name-taken`. Nothing outside the root is ever touched, and links
 * are neither followed nor written. What a write met may come out of a later call, of `flush` at the latest.
 */
export interface Volume {
  /** As they were when the volume was opened. */
  readonly facts: StickFacts;
  /**
   * Every file and folder, folders before what is in them, in the order of the volume's own directory. WITHIN a folder
   * only what is below it; nothing where there is no such folder.
   */
  entries(within?: string): Promise<readonly StickEntry[]>;
  freeBytes(): Promise<number>;
  /** Fails with `stick/name-taken` where the name exists. The parent must exist. */
  makeFolder(path: string): Promise<void>;
  /** A new file, empty. Fails with `stick/name-taken` where the name exists. `bytes` is what will be written. */
  create(path: string, bytes: number): Promise<VolumeWriter>;
  /** `fresh`: around the operating system's cache where it lets us; the reader says which it was. */
  open(path: string, how: 'fresh' | 'cached'): Promise<VolumeReader>;
  /** For a look at parts of a file, from wherever they come fastest. */
  openParts(path: string): Promise<FileParts>;
  /** Moves a file or a whole folder. Fails with `stick/name-taken` where the target exists. */
  rename(from: string, to: string): Promise<void>;
  removeFile(path: string): Promise<void>;
  /** The folder must be empty. */
  removeFolder(path: string): Promise<void>;
  /**
   * Returns when everything done so far is on the medium, as far as the operating system can say: the content, size and
   * name of what was made, of what was moved (under its new name, a folder with all in it), and the absence of what was
   * removed. The power may go at that moment. Whoever says that something is done has flushed after the last change.
   */
  flush(): Promise<void>;
  /**
   * As `flush`, for whatever the operating system still holds of the volume in its memory, whoever wrote it: what is
   * judged must be on the medium. Also on a volume opened for reading; nothing is changed. On one that was opened for
   * writing also what an earlier write failed to bring there, which the system has forgotten and still shows. False
   * where some of it could not be brought there: then only an eject does.
   */
  settle(): Promise<boolean>;
  close(): Promise<void>;
}

/**
 * Opens TARGET: a mounted folder, an image file or a block device. Read-only opening writes not a single sector.
 * Throws ToolError `stick/not-found`, `stick/unsupported-file-system` (with what was found), `file/not-permitted`.
 */
export type OpenVolume = (target: string, access: 'read' | 'write', options?: OpenOptions) => Promise<Volume>;

export interface OpenOptions {
  /** The moment that new names get, RFC 3339, told in UTC; otherwise the clock's. For FAT volumes only. */
  readonly at?: string;
}

export const stickGone = (subject: string): ToolError =>
  new ToolError(
    'stick/gone',
    subject,
    'the stick is not there any more',
    'Plug the stick in again and run the same command: it goes on where it stopped.',
  );

/** Another stick is there than was looked at, or something on it has changed since. */
export const stickSwapped = (target: string, difference: string): ToolError =>
  new ToolError(
    'stick/swapped',
    target,
    `This is not the stick that the plan was made for: ${difference}. Nothing was written.`,
    'Make sure that the right stick is plugged in, and run the same command again to see a new plan.',
  );

/** What was written and read back is something else. */
export const notAsWritten = (path: string): ToolError =>
  new ToolError(
    'stick/read-failed',
    path,
    'The stick gives back something else than was written.',
    'Try another port without a hub. If it happens again, retire the stick.',
  );

/** What was taken away is there still, or what should stay is not. */
export const notAsCleared = (path: string): ToolError =>
  new ToolError(
    'stick/write-failed',
    path,
    'After clearing, the stick does not show what it should.',
    'Pull it, plug it in again, and run the same command. If it happens again, retire the stick.',
  );
