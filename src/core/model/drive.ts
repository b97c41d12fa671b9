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
  readonly readOnly: boolean | undefined;
}

export interface Drive extends DriveFacts {
  readonly partitionTable: PartitionTable;
  readonly volumes: readonly MountedVolume[];
  /** Why this drive is never written; undefined for a removable USB drive. */
  readonly refusedBecause: string | undefined;
}
