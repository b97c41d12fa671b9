import { findHeadingRow, type NamedFields, type Recall } from './find-heading-row.ts';
import type { TableRow } from './list-table.ts';

/** In the order of preference where nothing speaks for one of them. */
export const delimiters = [';', ',', '\t', '|'] as const;

export interface Split {
  readonly delimiter: string;
  /** The first rows of the text, split at it. */
  readonly rows: readonly TableRow[];
}

/**
 * The delimiter whose split makes most sense: most fields known by their headings, then most rows with as many cells as the
 * heading row has.
 */
export function chooseDelimiter(splits: readonly Split[], named: NamedFields, recall: Recall): string {
  const scored = splits.map((split) => ({ split, score: scoreOf(split, named, recall) }));
  const best = scored.reduce((first, second) => (second.score > first.score ? second : first));
  return best.split.delimiter;
}

function scoreOf({ rows }: Split, named: NamedFields, recall: Recall): number {
  const found = findHeadingRow(rows, named, recall);
  if (found?.index === undefined) return 0;
  const below = rows.slice(found.index).filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
  const alike = below.filter(({ cells }) => cells.length === found.headings.length).length;
  return Object.keys(found.columns).length * 10 + (found.headings.length < 2 ? 0 : alike / Math.max(1, below.length));
}
