import type { Family } from '../core/model/family.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import type { Shelf } from '../io/shelf/shelf.ts';
import type { Ports } from '../workflows/ports.ts';

/** What the command line knows of this desk, and hands over. */
export interface DeskParts {
  readonly version: string;
  readonly who: string;
  /** The families that were named to the desk, else those that are NAMED here, else the usual ones. */
  readonly families: (
    named?: readonly string[],
  ) => Promise<{ families: readonly Family[]; familiesNamed: boolean; hashAlways: boolean }>;
  /** As the person named them. */
  readonly familyPaths: readonly string[];
  readonly familyFolder: () => Promise<string>;
  /** Rejects with a ToolError where there is none; `make` begins one. */
  readonly shelf: (how: {
    readonly make: boolean;
    readonly named?: string;
  }) => Promise<{ readonly shelf: Shelf; readonly made: boolean }>;
  /** Undefined where no round was found. */
  readonly round: () => Promise<RoundFolder | undefined>;
  readonly ports: () => Promise<Ports>;
  /** Folders and image files that were named as sticks. */
  readonly sticks: readonly string[];
}
