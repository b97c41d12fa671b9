import type { EndRecord } from './read-end-records.ts';
import { fixedBytes } from './signatures.ts';

/** The byte after the record's comment. */
export const endOfComment = (end: EndRecord): number => end.at + fixedBytes.end + end.commentBytes;

/**
 * Chooses the end record that is followed: the last one whose comment ends exactly at the end of the file, else the
 * last one. That it must end there: APPNOTE 4.3.6, where nothing follows the record.
 */
export function chooseEndRecord(ends: readonly EndRecord[], fileBytes: number): EndRecord | undefined {
  return ends.findLast((end) => endOfComment(end) === fileBytes) ?? ends.at(-1);
}
