import type { FileSystem, Partition, PartitionTable } from '../../model/stick-facts.ts';
import type { Flaw } from './flaw.ts';

/** What the sectors of a medium say, and everything in them that is not as it should be. */
export interface MediumFacts {
  readonly mediumBytes: number;
  readonly table: PartitionTable;
  readonly partitions: readonly Partition[];
  readonly volumes: readonly VolumeFacts[];
  /** About the medium and its tables; those of a volume are with the volume. */
  readonly flaws: readonly Flaw[];
}

export interface VolumeFacts {
  /** Position in the table; undefined without one. */
  readonly partition: number | undefined;
  readonly startByte: number;
  /** Room that the table gives it. */
  readonly bytes: number;
  readonly fileSystem: FileSystem;
  readonly sectorBytes: number | undefined;
  readonly clusterBytes: number | undefined;
  readonly clusters: number | undefined;
  /** Counted, not what the volume says of itself; undefined where it was not looked into. */
  readonly freeClusters: number | undefined;
  readonly label: string | undefined;
  readonly serial: string | undefined;
  readonly files: number | undefined;
  readonly folders: number | undefined;
  /** Of the paths that were asked about, those to which something leads that not every reader takes alike; and the folders above that do. */
  readonly doubtful: readonly string[];
  /** Whether the volume was looked into: only the first FAT or exFAT volume is. */
  readonly audited: boolean;
  readonly flaws: readonly Flaw[];
}
