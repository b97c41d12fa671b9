import type { DeskItem } from '../guide/judge-desk.ts';
import type { FoundPackage } from '../guide/package-question.ts';
import type { Family } from '../model/family.ts';
import type { Mode } from '../model/mode.ts';
import type { SettingSeen } from '../model/settings.ts';
import type { ReportDocument } from './report-schema.ts';
import type { Stage, StickState } from './reports.ts';

// What the server of the window and its page say to each other. Answers of workflows are the published documents.

/** One stick, or image file, that the page may name. */
export interface TargetSeen {
  /** As `--stick` takes it; the only form in which the page may name it. */
  readonly target: string;
  /** `chosen`: a folder or an image file that was named when the desk was started. */
  readonly kind: 'drive' | 'chosen';
  /** Maker, model, size and serial, in words. */
  readonly name: string;
  readonly device: string | undefined;
  readonly bytes: number | undefined;
  readonly serial: string | undefined;
  /** What is on it, volume by volume, in words. */
  readonly holds: readonly string[];
  /** Why it cannot be used here, and what to do; undefined where it can. */
  readonly refused: string | undefined;
  /**
   * Why it is no removable USB stick; undefined for one. It is written when a reason was given and its size was typed,
   * and never as a whole.
   */
  readonly doubt: string | undefined;
  /** What this person may not do with it by themselves, and the one command that does only that. */
  readonly rights: { readonly cannot: string; readonly command: string } | undefined;
  /** For each mode whether it would do, in words; empty where nobody was asked. */
  readonly would: readonly { readonly mode: Mode; readonly words: readonly string[] }[];
}

/** The key that a desk seals its sticks with. */
export interface SealSeen {
  readonly name: string;
  readonly publicPath: string;
  readonly privatePath: string;
}

/** How far a piece of work is with one target. */
export interface MeterSeen {
  readonly target: string;
  readonly stage: Stage;
  readonly step: number | undefined;
  readonly steps: number | undefined;
  readonly doneBytes: number;
  readonly totalBytes: number;
  /** Of the whole job, 0 to 1. */
  readonly share: number;
  readonly bytesPerSecond: number;
  readonly leftSeconds: number | undefined;
  readonly ended: StickState | undefined;
}

/** What somebody must agree to before the work goes on. */
export interface Agreement {
  /** Names drive and consequence. */
  readonly words: string;
  readonly wipes: boolean;
  /** What is lost for good, said between slanted bars; undefined where a panel is wiped, or nothing. */
  readonly lost?: string | undefined;
  /** What its buttons say where it is about something else than writing a stick as shown. */
  readonly buttons?: { readonly yes: string; readonly no: string } | undefined;
  /** What must be typed, and what it is; undefined where a press of the button is enough. */
  readonly typed: { readonly what: string; readonly example: string } | undefined;
}

/**
 * `working`: looking, or writing. `asks`: waits for an agreement. `stopping`: somebody stopped it; it comes to a clean
 * place. `done`: there is an answer. `failed`: there is none, and the error says why.
 */
export type WorkState = 'working' | 'asks' | 'stopping' | 'done' | 'failed';

/** A piece of work as it stands; it belongs to the server, and every page sees the same. */
export interface WorkSeen {
  readonly id: string;
  /** A command's name: prepare, verify, format, prove, shelf add, … */
  readonly kind: string;
  /** What it is about, in words. */
  readonly about: string;
  /** The targets that it works on. */
  readonly targets: readonly string[];
  /** RFC 3339, UTC. */
  readonly begun: string;
  readonly state: WorkState;
  /**
   * Where no sign has come of it for long: for how many seconds, and of which targets it may be; of one alone where the
   * system tells, or no other is left.
   */
  readonly silent: { readonly seconds: number; readonly targets: readonly string[] } | undefined;
  readonly meters: readonly MeterSeen[];
  readonly together: { readonly sticks: number; readonly share: number; readonly leftSeconds?: number } | undefined;
  /** What was found before an agreement: a report as of a dry run. */
  readonly proposal: ReportDocument | undefined;
  readonly agreement: Agreement | undefined;
  readonly answer: ReportDocument | undefined;
  readonly error: NonNullable<ReportDocument['error']> | undefined;
}

/** What a page was told before and has: a plan names thousands of files, and progress comes several times a second. */
export const asBefore = 'as-before';

/** A piece of work as it is told to a page. */
export interface WorkTold extends Omit<WorkSeen, 'proposal' | 'answer'> {
  readonly proposal: WorkSeen['proposal'] | typeof asBefore;
  readonly answer: WorkSeen['answer'] | typeof asBefore;
}

/** What lies on the desk. */
export interface DeskSeen {
  readonly version: string;
  readonly who: string;
  readonly families: readonly Family[];
  readonly packages: readonly FoundPackage[];
  /** Where the shelf is; undefined where there is none. */
  readonly shelf: string | undefined;
  /** Where the round's folder is; undefined where there is none. */
  readonly round: string | undefined;
  /** Of room cards, where nobody chooses another. */
  readonly paper: 'a5' | 'a6';
  /** The zone in which times are shown. */
  readonly zone: string;
}

/** Every setting, as the published document has it, and what changes one. */
export interface SettingsSeen extends ReportDocument {
  /** Where the file lies. */
  readonly path: string;
  readonly settings: readonly {
    readonly name: string;
    readonly value: string | null;
    readonly from: SettingSeen['from'];
    readonly objection: string | null;
  }[];
  /** What the file says by each name, whatever beats it. */
  readonly kept: Readonly<Record<string, string>>;
  /** Names of those that a word beats which this desk was opened with. */
  readonly byWord: readonly string[];
  /** What stands between two paths. */
  readonly between: string;
}

/** What there is on this machine: the published document. */
export interface DeskChecked extends ReportDocument {
  readonly desk: readonly DeskItem[];
}

/** One line of the stream of events. */
export type DeskEvent =
  | { readonly event: 'targets'; readonly targets: readonly TargetSeen[]; readonly failed: string | undefined }
  | { readonly event: 'work'; readonly work: readonly WorkTold[] }
  /** Something of this kind on the desk is another now: ask again. */
  | { readonly event: 'changed'; readonly what: 'desk' | 'slip' | 'round' }
  /** The server ends. */
  | { readonly event: 'closing' };
