import type { Tell } from '../core/report/events.ts';
import type { PackageOrigin } from '../core/shelf/describe-package.ts';
import type { Shelf } from '../io/shelf/shelf.ts';
import type { ArchiveQuestion } from './examine-archive.ts';
import type { Ports } from './ports.ts';

export interface ShelfAddRequest extends Omit<ArchiveQuestion, 'archivePath' | 'expectBytes'>, PackageOrigin {
  readonly archivePaths: readonly string[];
  readonly accepted: ReadonlyMap<string, string>;
}

/** One run of `shelf add`, the same for all its archives. */
export interface ShelfAddWork {
  readonly request: ShelfAddRequest;
  readonly shelf: Shelf;
  /** The shelf was not there before. */
  readonly made: boolean;
  readonly ports: Ports;
  readonly running: { readonly tell: Tell; readonly signal: AbortSignal };
}
