import { ToolError } from '../../../core/model/tool-error.ts';
import { placeProblems } from '../../digest/digest.ts';
import { stickFailed, toDeviceError } from '../os-error.ts';
import type { FreshPlace } from '../volume.ts';
import { findFileSpans } from './find-file-spans.ts';
import type { Lent, ReaderPool } from './reader-pool.ts';

/** Where files of a FAT volume lie on its medium; VOLUME AT is where the volume starts there, in bytes. */
export async function findFatPlaces(
  pool: ReaderPool,
  fatPaths: readonly string[],
  volumeAt: number,
): Promise<readonly (FreshPlace | undefined)[]> {
  const { way, readBack } = pool;
  if (way === undefined) return fatPaths.map(() => undefined);
  const lent = await pool.lend();
  try {
    return fatPaths.map((fatPath) => {
      const spans = spansOf(lent, fatPath)?.map(({ at, bytes }) => ({ at: volumeAt + at, bytes }));
      return spans && { ...way, spans, readBack, explain: async (error) => explain(error, way.path) };
    });
  } finally {
    lent.giveBack();
  }
}

function spansOf(lent: Lent, fatPath: string): ReturnType<typeof findFileSpans> {
  try {
    return findFileSpans(lent, fatPath);
  } catch (error) {
    if (error instanceof ToolError) return undefined; // whoever opens it hears why
    throw error;
  }
}

const explain = (error: unknown, path: string): Error =>
  error instanceof Error && 'code' in error && error.code === placeProblems.mediumEnds
    ? stickFailed('read', path, 'the medium ends before its stated size')
    : toDeviceError(error, 'read', path);
