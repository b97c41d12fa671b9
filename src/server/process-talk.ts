import type { Drive } from '../core/model/drive.ts';
import type { DeskEvent, TargetSeen, WorkSeen } from '../core/report/window-talk.ts';
import type { WorkWanted } from './desk-at-hand.ts';
import type { DeskWords } from './desk-parts.ts';
import type { SettingsHeld } from './settings-held.ts';

// What the server says to the processes that work for it, and they to it. A stick whose system call hangs, and hours of
// planning, hold up such a process and never the server: the server touches no stick itself.

/** What lies on the desk just now. */
export interface DeskLies {
  readonly targets: readonly TargetSeen[];
  /** The folder of the round. */
  readonly round: string | undefined;
  readonly settings: SettingsHeld;
}

/** A request of the page, handed on as it came. */
export interface RequestHandedOn {
  readonly method: string;
  /** With its query. */
  readonly path: string;
  readonly body: Uint8Array | undefined;
}

export interface AnswerHandedBack {
  readonly status: number;
  readonly headers: Readonly<Record<string, string>>;
  readonly body: Uint8Array;
}

export type ToProcess =
  /** First of all, and where it lies otherwise. */
  | { readonly say: 'desk'; readonly words: DeskWords; readonly lies: DeskLies }
  | { readonly say: 'work'; readonly kind: string; readonly order: unknown; readonly targets: readonly string[] }
  | { readonly say: 'agree'; readonly number: number; readonly typed: string | undefined }
  | { readonly say: 'decline' }
  | { readonly say: 'stop' }
  | { readonly say: 'request'; readonly number: number; readonly request: RequestHandedOn };

/** How a piece of work stands, as the process that does it knows it. */
export type PieceSeen = Pick<WorkSeen, 'state' | 'meters' | 'together' | 'proposal' | 'agreement' | 'error' | 'answer'>;

export type FromProcess =
  /** What is another now than it was said last. */
  | { readonly say: 'news'; readonly news: Partial<PieceSeen> }
  /** Undefined where it is agreed; else why not. */
  | { readonly say: 'agreed'; readonly number: number; readonly objection: string | undefined }
  | { readonly say: 'answer'; readonly number: number; readonly answer: AnswerHandedBack }
  /** For every page. */
  | { readonly say: 'tell'; readonly event: DeskEvent }
  /** Another round lies on the desk. */
  | { readonly say: 'laid'; readonly round: string }
  /** A page to print, and the ticket in its address. */
  | { readonly say: 'paper'; readonly ticket: string; readonly page: string }
  | { readonly say: 'start'; readonly work: WorkWanted }
  | { readonly say: 'seen'; readonly drives: readonly DriveLookedAt[]; readonly chosen: readonly TargetSeen[] }
  | { readonly say: 'unseen'; readonly why: string };

export interface DriveLookedAt {
  readonly drive: Drive;
  /** What the page may name of it, or why nothing. */
  readonly choice: { readonly target: string } | { readonly reason: string };
  /** Of the target that it is written as, where it may be written. */
  readonly rights: TargetSeen['rights'];
}
