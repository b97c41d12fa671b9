import * as FatFs from 'js-fatfs';
import type { FatTable } from '../../../core/volume-format/audit/fat-table.ts';
import type { FatFsSession } from './fatfs-session.ts';

/** `FFOBJID.sclust` inside `FIL` (FatFs ff.h), as inside `DIR`. */
const firstClusterAt = 8;

/** A stretch of a volume, in bytes from its start. */
export interface Span {
  readonly at: number;
  readonly bytes: number;
}

/**
 * Where a file's content lies on its volume, in the file's order; neighbouring clusters are one span. Undefined where the
 * allocation table does not lead to its end: reading it through FatFs then says what is wrong.
 */
export function findFileSpans(
  { session, table }: { readonly session: FatFsSession; readonly table: FatTable },
  fatPath: string,
): readonly Span[] | undefined {
  const { start, bytes } = startOf(session, fatPath);
  const { clusterBytes, sectorBytes, dataFirstSector } = session.geometry;
  const spans: { at: number; bytes: number }[] = [];
  let cluster = start;
  for (let left = bytes; left > 0; ) {
    if (cluster < 2) return undefined;
    const at = dataFirstSector * sectorBytes + (cluster - 2) * clusterBytes;
    const here = Math.min(left, clusterBytes);
    const last = spans.at(-1);
    if (last !== undefined && last.at + last.bytes === at) last.bytes += here;
    else spans.push({ at, bytes: here });
    left -= here;
    if (left > 0) cluster = table.step(cluster);
  }
  return spans;
}

function startOf(session: FatFsSession, fatPath: string): { readonly start: number; readonly bytes: number } {
  const { ff } = session;
  return session.withMemory(FatFs.sizeof_FIL, (file) => {
    session.check(ff.f_open(file, fatPath, FatFs.FA_READ), 'read', fatPath.slice(1));
    const start = ff.getValue(file + firstClusterAt, 'i32') >>> 0;
    const bytes = ff.f_size(file) >>> 0;
    ff.f_close(file);
    return { start, bytes };
  });
}
