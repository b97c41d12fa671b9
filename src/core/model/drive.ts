import type { DriveFacts, FileSystem, PartitionTable } from './stick-facts.ts';

/** A volume on a drive, as the operating system sees it. `undefined` means that it does not tell. */
export interface MountedVolume {
  /** Device path or drive letter of the volume. */
  readonly device: string;
  readonly mountPoints: readonly string[];
  readonly fileSystem: FileSystem;
  readonly label: string | undefined;
  readonly bytes: number | undefined;
  readonly freeBytes: number | undefined;
  readonly clusterBytes: number | undefined;
  readonly sectorBytes: number | undefined;
  readonly readOnly: boolean | undefined;
}

export interface Drive extends DriveFacts {
  /** Bytes of a logical sector, where the system lists it; Linux is asked when a drive is claimed. */
  readonly sectorBytes?: number | undefined;
  /**
   * The USB port it is plugged into, as the operating system numbers it: `1-2.3` is port 3 of the hub at port 2 of bus
   * 1.
   */
  readonly port: string | undefined;
  readonly partitionTable: PartitionTable;
  readonly volumes: readonly MountedVolume[];
  /** What this computer or this run needs of it, in words: it is not erased under them, whatever else speaks for it. */
  readonly holds?: readonly string[];
  /** Why this drive is never written; undefined for a removable USB drive. */
  readonly refusedBecause: string | undefined;
}
