import type { Finding } from '../findings/finding.ts';
import type { Mode } from './mode.ts';
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
  /** The USB port it is plugged into, as the operating system numbers it: `1-2.3` is port 3 of the hub at port 2 of bus 1. */
  readonly port: string | undefined;
  readonly partitionTable: PartitionTable;
  readonly volumes: readonly MountedVolume[];
  /** What this computer or this run needs of it, in words: it is not erased under them, whatever else speaks for it. */
  readonly holds?: readonly string[];
  /** Why this drive is never written; undefined for a removable USB drive. */
  readonly refusedBecause: string | undefined;
}

/** Whether a drive would do for a mode, by the rules of one family or by the customary ones. */
export interface ModeAnswer {
  readonly mode: Mode;
  /** Undefined where the customary rules judged. */
  readonly family: string | undefined;
  /** `unknown`: nothing speaks against it, but something that matters was not told. */
  readonly answer: 'yes' | 'no' | 'unknown';
  /** The volume that was judged; undefined where there is none. */
  readonly volume: string | undefined;
  /** The one that matters most: why not, what is not known, or what to mind about a drive that would do. */
  readonly reason: Finding | undefined;
}

export interface JudgedDrive extends Drive {
  readonly modes: readonly ModeAnswer[];
}
