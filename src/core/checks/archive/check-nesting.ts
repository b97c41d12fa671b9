import { largestDeflateRatio } from '../../archive-format/signatures.ts';
import { type Finding, finding } from '../../findings/finding.ts';
import type { ArchiveEntry } from '../../model/archive-facts.ts';

/** What an archive inside the archive would become if everything in it were unpacked. */
export interface Nesting {
  /** 1 where the inner archive holds no further one. */
  readonly depth: number;
  readonly bytes: number;
  /** The deepest level that is looked at holds yet another archive. */
  readonly endless: boolean;
}

const muchBytes = 2 ** 30;

/**
 * An archive in an archive is common and harmless, also one of an empty partition that unpacks to gigabytes. From the
 * second level on, growth beyond what packing once can do has no honest use.
 */
export function checkNesting(entry: ArchiveEntry, { depth, bytes, endless }: Nesting): readonly Finding[] {
  const grows = depth > 1 && bytes >= muchBytes && bytes > entry.compressedBytes * largestDeflateRatio;
  if (!grows && !endless) return [];
  return [finding('archive/archives-in-archives', entry.name, { depth, bytes: endless ? undefined : bytes })];
}
