import type { Family } from '../core/model/family.ts';
import type { RoundFolder } from '../io/rounds/rounds.ts';
import type { Shelf } from '../io/shelf/shelf.ts';
import type { Ports } from '../workflows/ports.ts';

/** What the person named when the desk was started; every process of the desk makes the same parts of it. */
export interface DeskWords {
  /** Files, also of what came on standard input. */
  readonly families: readonly string[];
  /** As they were named. */
  readonly familyPaths: readonly string[];
  readonly shelf: string | undefined;
  readonly round: string | undefined;
  readonly who: string | undefined;
  /** Absolute. */
  readonly sticks: readonly string[];
}

/** What the command line knows of this desk, and hands over. */
export interface DeskParts {
  readonly words: DeskWords;
  /** The file that a process which works for the desk is started with. */
  readonly script: string;
  readonly version: string;
  readonly who: string;
  /** The families that were named to the desk, else those that are NAMED here, else the usual ones. */
  readonly families: (
    named?: readonly string[],
  ) => Promise<{ families: readonly Family[]; familiesNamed: boolean; hashAlways: boolean }>;
  readonly familyFolder: () => Promise<string>;
  /** Rejects with a ToolError where there is none; `make` begins one. */
  readonly shelf: (how: {
    readonly make: boolean;
    readonly named?: string;
  }) => Promise<{ readonly shelf: Shelf; readonly made: boolean }>;
  /** Undefined where no round was found. */
  readonly round: () => Promise<RoundFolder | undefined>;
  readonly ports: () => Promise<Ports>;
}
