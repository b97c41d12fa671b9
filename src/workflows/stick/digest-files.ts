import type { Volume } from '../../io/volume/volume.ts';
import { type Digestion, digestHere, type FileContent } from './digest-file.ts';

/** What became of one file: its content, or why it could not be read. */
export type DigestOutcome = { readonly content: FileContent } | { readonly error: unknown };

/** More would only wait for the same stick. */
const mostAtOnce = 4;

/**
 * Reads files from the stick, several side by side where other threads can do it, one after another where not. Answers in the
 * order of the paths. Throws the signal's reason; a file that cannot be read is an outcome, and the others are read.
 */
export async function digestFiles(
  volume: Volume,
  paths: readonly string[],
  how: Digestion,
): Promise<readonly DigestOutcome[]> {
  const outcomes: DigestOutcome[] = new Array(paths.length);
  const running = new Set<Promise<void>>();
  for (const [index, path] of paths.entries()) {
    how.signal?.throwIfAborted();
    while (running.size >= mostAtOnce) await Promise.race(running);
    const started = await startOne(volume, path, how).catch((error: unknown) => ({ outcome: { error } }));
    const work = Promise.resolve(started.outcome).then((outcome) => {
      outcomes[index] = outcome;
      running.delete(work);
    });
    running.add(work);
  }
  await Promise.all(running);
  how.signal?.throwIfAborted();
  return outcomes;
}

/** Wrapped, so that waiting for the start is not waiting for the outcome. */
interface Started {
  readonly outcome: DigestOutcome | Promise<DigestOutcome>;
}

async function startOne(volume: Volume, path: string, how: Digestion): Promise<Started> {
  const reader = await volume.open(path, 'fresh');
  const { readBack } = reader;
  const { digestAt } = how.digesting;
  const place = digestAt === undefined ? undefined : await reader.place();
  if (digestAt === undefined || place === undefined) return { outcome: { content: await digestHere(reader, how) } };
  const { crc = false, signal, heard = () => {} } = how;
  const digest = digestAt(place, { crc, signal, heard });
  return {
    outcome: digest.then(
      (content) => ({ content: { ...content, readBack } }),
      (error: unknown) => ({ error }),
    ),
  };
}
