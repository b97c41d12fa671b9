import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';
import { type Digestion, digestFile, type FileContent } from './digest-file.ts';

/** What became of one file: its content, or why it could not be read. */
export type DigestOutcome = { readonly content: FileContent } | { readonly error: unknown };

/** Throws why a file could not be read. */
export function contentOf(outcome: DigestOutcome | undefined): FileContent {
  if (outcome === undefined) throw new Error('a file was not read');
  if ('error' in outcome) throw outcome.error;
  return outcome.content;
}

/** What a caller keeps of an outcome: with thousands of files on several sticks, all that is not needed is dropped at once. */
export interface Keeping<Kept> {
  readonly keep: (outcome: DigestOutcome, index: number) => Kept;
}

/** Keeps of a file that is as expected only where it was read from, and of any other all. */
export const keepDiffering = (
  sha256Of: (index: number) => string | undefined,
): Keeping<ReadBackKind | DigestOutcome> => ({
  keep: (outcome, index) =>
    'content' in outcome && outcome.content.sha256 === sha256Of(index) ? outcome.content.readBack : outcome,
});

export const keepAll: Keeping<DigestOutcome> = { keep: (outcome) => outcome };

export interface StickFile {
  readonly path: string;
  readonly bytes: number;
}

interface Numbered extends StickFile {
  readonly index: number;
}

/** A file from this size on keeps a thread busy for itself. */
const largeBytes = 2 ** 20;
/** So many small files are looked up and handed over at a time, which bounds what is kept about them. */
const atATime = 64;

/**
 * Reads files from the stick, several side by side where other threads can do it, one after another where not. Answers in the
 * order of the files. Throws the signal's reason; a file that cannot be read is an outcome, and the others are read.
 */
export async function digestFiles<Kept>(
  volume: Volume,
  files: readonly StickFile[],
  how: Digestion & Keeping<Kept>,
): Promise<readonly Kept[]> {
  const outcomes: Kept[] = new Array(files.length);
  const numbered = files.map(({ path, bytes }, index) => ({ path, bytes, index }));
  if (how.digesting.digestPlaces === undefined) {
    await digestHere(volume, numbered, how, outcomes);
    return outcomes;
  }
  const small = numbered.filter(({ bytes }) => bytes < largeBytes);
  let next = 0;
  const lane = async (): Promise<void> => {
    while (next < small.length) {
      const start = next;
      next += atATime;
      await digestAside(volume, small.slice(start, next), how, outcomes);
    }
  };
  const large = numbered.filter(({ bytes }) => bytes >= largeBytes);
  // All end before one's fault is told: whoever hears of it may close the volume.
  // Two lanes, so that the other threads have something to do while this one looks up the next.
  const ends = await Promise.allSettled([digestAside(volume, large, how, outcomes), lane(), lane()]);
  for (const end of ends) if (end.status === 'rejected') throw end.reason;
  return outcomes;
}

/** Reads in other threads what they can read, and the rest here. */
async function digestAside<Kept>(
  volume: Volume,
  files: readonly Numbered[],
  how: Digestion & Keeping<Kept>,
  outcomes: Kept[],
): Promise<void> {
  const { digesting, crc = false, signal, heard = () => {} } = how;
  const places = await volume.places(files.map(({ path }) => path));
  const aside = files.flatMap(({ bytes, index }, at) => {
    const place = places[at];
    return place === undefined ? [] : [{ index, place, bytes }];
  });
  const answers = (await digesting.digestPlaces?.({ places: aside, crc, signal, heard })) ?? [];
  for (const [at, { index, place }] of aside.entries()) {
    const answer = answers[at] ?? { error: new Error('a file was not read') };
    const { readBack } = place;
    outcomes[index] = how.keep('digest' in answer ? { content: { ...answer.digest, readBack } } : answer, index);
  }
  await digestHere(
    volume,
    files.filter((_, at) => places[at] === undefined),
    how,
    outcomes,
  );
}

async function digestHere<Kept>(
  volume: Volume,
  files: readonly Numbered[],
  how: Digestion & Keeping<Kept>,
  outcomes: Kept[],
): Promise<void> {
  for (const { path, index } of files) {
    how.signal?.throwIfAborted();
    const outcome = await digestFile(volume, path, how).then(
      (content) => ({ content }),
      (error: unknown) => ({ error }),
    );
    outcomes[index] = how.keep(outcome, index);
  }
  how.signal?.throwIfAborted();
}
