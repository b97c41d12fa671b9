import type { KeptLeft } from '../../core/report/returned-report.ts';
import type { Ports } from '../ports.ts';

/** A file on the stick that is to be kept at the desk. */
export interface FileToKeep {
  readonly path: string;
  readonly bytes: number;
  /** Its bytes in order; a chunk is only valid until the next is asked for. */
  readonly read: () => Promise<AsyncIterable<Uint8Array>>;
}

/** What looking at a returned stick, and clearing it, needs from outside. */
export interface ReturnedPorts
  extends Pick<Ports, 'openVolume' | 'digesting' | 'isSignedBy' | 'auditMedium' | 'lookInto' | 'now'> {
  /**
   * Copies FILES to a new folder NAME in DIR and reads them back. Nothing is overwritten, and no folder of that name is there
   * before all of it is. Throws ToolError `file/not-found`, `file/not-permitted`, `file/unreadable`, and what `read` throws.
   */
  readonly keepLeft: (
    dir: string,
    name: string,
    files: readonly FileToKeep[],
    signal: AbortSignal,
  ) => Promise<KeptLeft>;
  /**
   * Takes the mark of an unclean pull from the FAT volume in an image file or a raw device, and nothing else. The caller has
   * found the volume sound. Throws ToolError as writing to a volume does.
   */
  readonly settleDirtyMark: (target: string) => Promise<void>;
}
