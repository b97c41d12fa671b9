import type { Finding } from '../../findings/finding.ts';
import type { Family } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import type { Room } from '../../model/room.ts';
import type { RoomState } from '../../model/round.ts';
import type { ReadPackage } from '../../shelf/index-shelf.ts';

/** One stick that a room needs. */
export interface PlannedStep {
  readonly package: ReadPackage;
  readonly build: string;
  /** The maker's reason for a bridge; undefined for the target. */
  readonly because: string | undefined;
}

/** What a room needs, or why it gets nothing. */
export interface PlannedRoom {
  readonly room: Room;
  readonly state: RoomState;
  readonly mode: Mode;
  /** The update erases everything on this panel. */
  readonly wipes: boolean;
  readonly approval: string | undefined;
  /** The one family that reads its label. */
  readonly family: Family | undefined;
  /** The newest build on the shelf for it, where there is one. */
  readonly target: string | undefined;
  /** In their order; empty unless the state is `update`. */
  readonly steps: readonly PlannedStep[];
  readonly findings: readonly Finding[];
}
