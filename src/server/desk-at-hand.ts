import type { ReportDocument } from '../core/report/report-schema.ts';
import type { Tell } from '../core/report/reports.ts';
import type { Agreement, DeskEvent, TargetSeen } from '../core/report/window-talk.ts';
import type { DeskParts } from './desk-parts.ts';
import type { Rounds } from './rounds.ts';

/**
 * The desk as work and routes need it, alike in the server and in a process of its own: see `process-talk.ts`.
 */
export interface DeskAtHand {
  readonly parts: DeskParts;
  readonly rounds: Rounds;
  /** What is plugged in, as it was seen last. */
  readonly targets: readonly TargetSeen[];
  /** Whether the page may name it: it was shown, and can be used here. */
  readonly knowsTarget: (target: string) => boolean;
  /** Every page that is open hears it. */
  readonly tell: (event: DeskEvent) => void;
  readonly work: WorkStarter;
}

export interface WorkStarter {
  /** Begins a piece of work, which every page sees; answers how it is called. */
  readonly start: <Order>(kind: WorkKind<Order>, order: Order, shown: WorkShown) => string;
}

/** A piece of work as it can be told to another process. */
export interface WorkWanted {
  readonly id: string;
  readonly kind: string;
  readonly order: unknown;
  readonly shown: WorkShown;
}

/** How a piece of work is shown. */
export interface WorkShown {
  /** What it is about, in words. */
  readonly about: string;
  /** The targets that it works on. */
  readonly targets: readonly string[];
}

/**
 * A kind of work. It runs in a process of its own (`away/kinds.ts` lists them), so an ORDER is data alone, as the page
 * sent it or as little more.
 */
export interface WorkKind<Order> {
  /** A command's name: prepare, verify, format, prove, shelf add, … */
  readonly kind: string;
  /** Answers the published document; something else only where no page sees the work itself. */
  readonly run: (desk: DeskAtHand, order: Order, at: AtWork) => Promise<object>;
}

/** What a piece of work is given while it runs. */
export interface AtWork {
  readonly tell: Tell;
  readonly signal: AbortSignal;
  /** Shows PROPOSAL and waits until somebody agrees or says no; also no where the work is stopped meanwhile. */
  readonly ask: (proposal: ReportDocument | undefined, agreement: AskedAgreement) => Promise<boolean>;
  /** The bytes that are handed to it, where any are. They end where the page goes away in the middle. */
  readonly input: AsyncIterable<Uint8Array>;
}

export interface AskedAgreement extends Agreement {
  /** Whether what was typed is what must be typed. */
  readonly isRight?: (typed: string) => boolean;
}
