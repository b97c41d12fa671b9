import type { ProofFacts } from '../checks/medium/check-proof.ts';
import type { SortedEntry } from '../contents/sort-contents.ts';
import type { Finding, Verdict } from '../findings/finding.ts';
import type { Drive } from '../model/drive.ts';
import type { Manifest } from '../model/manifest.ts';
import type { Mode } from '../model/mode.ts';
import type { RoundRecordOf } from '../model/round-record.ts';
import type { FileSystem, StickFacts } from '../model/stick-facts.ts';
import type { Conclusion } from '../returned/check-returned.ts';
import type { ClearingPlan } from '../returned/plan-clearing.ts';
import type { MediumFacts } from '../volume-format/audit/flaw.ts';

/** What is on a medium that is about to be erased. */
export interface Losses {
  readonly readable: boolean;
  readonly volumes: readonly {
    readonly fileSystem: FileSystem;
    readonly label: string | undefined;
    readonly bytes: number;
    readonly usedBytes: number | undefined;
  }[];
  /** Undefined where nobody can count them. */
  readonly files: number | undefined;
  /** At the root. */
  readonly names: readonly string[];
}

/** A whole medium that may be erased, if the person agrees: an image file, one to be made, or a removable USB drive. */
export interface MediumPlace {
  /** As the person gave it. */
  readonly target: string;
  readonly kind: 'new-image' | 'image' | 'device';
  readonly path: string;
  /** For an image that is not there yet, what it will have. */
  readonly bytes: number;
  readonly drive: Drive | undefined;
}

/** What a medium is to become. */
export interface FormatWish {
  readonly fileSystem: 'fat12' | 'fat16' | 'fat32' | 'exfat';
  /** Undefined: as Microsoft's published table has it. */
  readonly clusterBytes: number | undefined;
  readonly volumeLabel: string | undefined;
  /** 32 bits. */
  readonly volumeSerial: number;
  /** RFC 3339. */
  readonly at: string;
}

/** What will be, or was, made. */
export interface FormatPlan {
  readonly fileSystem: 'fat12' | 'fat16' | 'fat32' | 'exfat';
  readonly bytes: number;
  /** Undefined: the system's own formatter decides. */
  readonly clusterBytes: number | undefined;
  readonly clusters: number | undefined;
  readonly volumeLabel: string | undefined;
  /** Commands of the operating system that will be run, in order. */
  readonly commands: readonly string[];
}

export interface FormatReport {
  readonly command: 'format';
  readonly verdict: Verdict;
  /**
   * `refused`: a finding stopped it before anything was written. `unfinished`: stopped by the person; what was there is
   * gone.
   */
  readonly state: 'formatted' | 'refused' | 'declined' | 'unfinished';
  readonly mode: Mode;
  readonly findings: readonly Finding[];
  readonly medium: MediumPlace;
  readonly losses: Losses;
  readonly plan: FormatPlan;
  /** Read from the sectors afterwards; undefined where nothing was written. */
  readonly made: MediumFacts | undefined;
  readonly readBack: 'medium' | 'cache' | undefined;
}

export interface ProveReport {
  readonly command: 'prove';
  readonly verdict: Verdict;
  readonly state: 'proved' | 'declined';
  readonly findings: readonly Finding[];
  readonly target: string;
  /** Undefined for the free part of a volume: nothing is lost then. */
  readonly medium: MediumPlace | undefined;
  readonly losses: Losses | undefined;
  /** Undefined where the person said no. */
  readonly proof: ProofFacts | undefined;
}

/**
 * What became of clearing. `not-asked`: the plan says what it would do. `refused`: a finding forbids it, nothing was
 * written. `declined`: the person said no. `cleared`: all done; the stick can be prepared. `unfinished`: it was stopped
 * in the middle; the stick says not ready and the same command goes on.
 */
export type ClearingState = 'not-asked' | 'refused' | 'declined' | 'cleared' | 'unfinished';

/** Copies at the desk of what a panel left. */
export interface KeptLeft {
  readonly folder: string;
  readonly files: readonly { readonly path: string; readonly bytes: number; readonly sha256: string }[];
}

export interface ReturnedReport {
  readonly command: 'verify';
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
  readonly conclusion: Conclusion;
  /** As the record of a round says it. */
  readonly state: RoundRecordOf<'returned'>['state'];
  /** Undefined where the volume could not be listed. */
  readonly stick: StickFacts;
  /** The manifest that the stick was last about, also where it is withdrawn. */
  readonly manifest: Manifest | undefined;
  readonly filesRead: number;
  readonly bytesRead: number;
  readonly sorted: readonly SortedEntry[];
  readonly clearing: {
    readonly state: ClearingState;
    /** Undefined where there is nothing to plan with. */
    readonly plan: ClearingPlan | undefined;
    /** What forbids it, or what is to be said of it. */
    readonly findings: readonly Finding[];
  };
  readonly kept: KeptLeft | undefined;
}

/** Whether what lies behind a target can be pulled now. */
export interface EjectOutcome {
  readonly target: string;
  readonly state: 'pull-it-now' | 'not-yet' | 'nothing-to-eject';
  readonly reason?: string;
  readonly todo?: string;
}

/**
 * Where nothing but reasoning stands behind an erase: of raw drives, on macOS and on Windows. Those ways never ran on a
 * real machine; Linux's run in every test. Undefined where there is nothing to say.
 */
export function untriedWay(
  { kind, target }: Pick<MediumPlace, 'kind' | 'target'>,
  platform: string,
): string | undefined {
  if (kind !== 'device' || platform === 'linux') return undefined;
  const system = platform === 'darwin' ? 'macOS' : platform === 'win32' ? 'Windows' : 'this system';
  return `Erasing a drive on ${system} has never run on a real machine: it was written from documentation and recorded answers. ${target} may be left unusable until another tool formats it, and nobody has seen what else can happen.`;
}
