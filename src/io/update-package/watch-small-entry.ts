import type { ArchiveEntry } from '../../core/model/archive-facts.ts';
import type { MetadataReading } from '../../core/update-package/metadata.ts';
import type { MetadataForm } from '../../core/update-package/update-package-facts.ts';

/** An entry that was heard; `bytes` is undefined where it was larger than anyone would keep. */
export interface SmallEntry {
  readonly size: number;
  readonly bytes: Uint8Array | undefined;
}

/** Keeps the first entry of that path, up to `largestBytes`; whatever size the directory states. */
export function watchSmallEntry(path: string, largestBytes: number) {
  let open = false;
  let size = 0;
  let kept: Uint8Array[] = [];
  let entry: SmallEntry | undefined;
  return {
    start(started: ArchiveEntry): void {
      open = started.name === path && entry === undefined;
    },
    data(chunk: Uint8Array): void {
      if (!open) return;
      size += chunk.length;
      if (size > largestBytes) kept = [];
      else kept.push(chunk.slice());
    },
    end(): void {
      if (open) entry = { size, bytes: size > largestBytes ? undefined : Buffer.concat(kept) };
      open = false;
    },
    found: (): SmallEntry | undefined => entry,
  };
}

/** One form of the metadata, read by `parse` where it is there. */
export function metadataForm(
  entry: SmallEntry | undefined,
  parse: (bytes: Uint8Array) => MetadataReading | undefined,
): MetadataForm {
  if (entry === undefined) return { state: 'absent' };
  if (entry.bytes === undefined) return { state: 'too-large', bytes: entry.size };
  const metadata = parse(entry.bytes);
  return metadata === undefined ? { state: 'unreadable' } : { state: 'read', metadata };
}
