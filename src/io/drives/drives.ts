import type { DriveFacts, FileSystem, PartitionTable } from '../../core/model/stick-facts.ts';

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

/** Everything that is plugged in, sticks first. Throws ToolError `drives/unavailable`. */
export type ListDrives = () => Promise<readonly Drive[]>;
