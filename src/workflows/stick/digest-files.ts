import type { Digesting } from '../../io/digest/digest.ts';
import type { ReadBackKind, Volume } from '../../io/volume/volume.ts';

export interface FileContent {
  readonly sha256: string;
  readonly crc32: number;
  readonly bytes: number;
  readonly readBack: ReadBackKind;
}

/** What became of one file: its content, or why it could not be read. */
export type DigestOutcome = { readonly content: FileContent } | { readonly error: unknown };

export interface Digestion {
  readonly digesting: Digesting;
  /** Throws its reason when aborted. */
  readonly signal?: AbortSignal;
  /** Whether the CRC-32 is wanted as well; otherwise it is 0. */
  readonly crc?: boolean;
  readonly heard?: (bytes: number) => void;
}

/** So many files are on their way at once: on a slow stick a small one waits more than it is hashed. */
const sideBySide = 4;

/** Throws why a file could not be read. */
export function contentOf(outcome: DigestOutcome | undefined): FileContent {
  if (outcome === undefined) throw new Error('a file was not read');
  if ('error' in outcome) throw outcome.error;
  return outcome.content;
}

/**
 * Reads files from the stick, around the cache where that is possible. Answers in the order of the files. Throws the signal's
 * reason; a file that cannot be read is an outcome, and the others are read.
 */
export async function digestFiles(
  volume: Volume,
  files: readonly { readonly path: string }[],
  how: Digestion,
): Promise<readonly DigestOutcome[]> {
  const outcomes: DigestOutcome[] = new Array(files.length);
  const waiting = files.entries();
  const lane = async (): Promise<void> => {
    for (const [index, { path }] of waiting) {
      if (how.signal?.aborted) return;
      outcomes[index] = await digestFile(volume, path, how).then(
        (content) => ({ content }),
        (error: unknown) => ({ error }),
      );
    }
  };
  // All end before an interruption is told: whoever hears it may close the volume.
  await Promise.all(Array.from({ length: sideBySide }, lane));
  how.signal?.throwIfAborted();
  return outcomes;
}

async function digestFile(volume: Volume, path: string, how: Digestion): Promise<FileContent> {
  const reader = await volume.open(path, 'fresh');
  const digest = how.digesting.start(how.crc === true);
  let bytes = 0;
  for await (const chunk of reader.chunks()) {
    how.signal?.throwIfAborted();
    digest.update(chunk);
    bytes += chunk.byteLength;
    how.heard?.(chunk.byteLength);
  }
  return { ...digest.end(), bytes, readBack: reader.readBack };
}
