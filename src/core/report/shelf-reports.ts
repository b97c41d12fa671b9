import type { Finding, Verdict } from '../findings/finding.ts';
import type { BuildOrder } from '../model/build.ts';
import type { ToolError } from '../model/tool-error.ts';
import type { ShelfAnswer } from '../shelf/find-on-shelf.ts';
import type { ShelvedPackage } from '../shelf/shelf-record.ts';

interface Judged {
  readonly verdict: Verdict;
  readonly findings: readonly Finding[];
}

/**
 * What became of one archive. `there`: the shelf has it already. `restored`: the shelf's copy was damaged, and this one
 * took its place. `proven`: what was open in its record is settled. `refused`: a finding stopped it. `failed`: the tool
 * could not go on with it; the others went on.
 */
export interface ShelfAddition extends Judged {
  readonly archivePath: string;
  readonly state: 'added' | 'there' | 'restored' | 'proven' | 'refused' | 'failed';
  readonly shelved: ShelvedPackage | undefined;
  readonly error: ToolError | undefined;
}

export interface ShelfAddReport extends Judged {
  readonly command: 'shelf add';
  readonly place: string;
  readonly additions: readonly ShelfAddition[];
}

export interface ShelfListReport extends Judged {
  readonly command: 'shelf list';
  readonly place: string;
  readonly packages: readonly ShelvedPackage[];
  /** The person named packages: they want to see all of each. */
  readonly whole: boolean;
}

export interface ShelfFindReport extends Judged {
  readonly command: 'shelf find';
  readonly place: string;
  readonly answer: ShelfAnswer;
  /** The command that makes the next stick; undefined where there is nothing to prepare. */
  readonly prepare: string | undefined;
}

export interface ShelfCheckReport extends Judged {
  readonly command: 'shelf check';
  readonly place: string;
  readonly packagesRead: number;
  readonly bytesRead: number;
}

export interface ShelfRemoveReport extends Judged {
  readonly command: 'shelf remove';
  readonly place: string;
  readonly removed: readonly ShelvedPackage[];
  readonly declined: boolean;
}

export interface ShelfExportReport extends Judged {
  readonly command: 'shelf export';
  readonly place: string;
  readonly exported: readonly { readonly shelved: ShelvedPackage; readonly to: string; readonly state: string }[];
}

/** A running build beside a package's, or beside the newest on the shelf for a label. */
export interface CompareReport extends Judged {
  readonly command: 'compare';
  readonly running: string;
  /** The package's file name; undefined where there is none to compare with. */
  readonly name: string | undefined;
  readonly packaged: string | undefined;
  readonly order: BuildOrder | undefined;
  /** Builds to take one after the other, one stick a step. */
  readonly steps: readonly { readonly build: string; readonly because: string | undefined }[];
}
