/** A part of the package that a reader may fetch by offset, without the zip's directory. */
export interface PropertyFile {
  /** The last part of the entry's path; `payload_metadata.bin` is the head of `payload.bin`, not an entry. */
  readonly name: string;
  /** Where the entry's data starts in the archive. */
  readonly offset: number;
  readonly bytes: number;
}

/** As many as an attacker could make us look up; real lists have fewer than ten. */
const largestCount = 1000;

/**
 * Reads `name:offset:size`, comma separated, padded with spaces; undefined where it is not that throughout.
 * Source: AOSP build/tools/releasetools/ota_utils.py, class PropertyFiles.
 */
export function parsePropertyFiles(text: string): readonly PropertyFile[] | undefined {
  const tokens = text.trim().split(',', largestCount + 1);
  if (tokens.length > largestCount) return undefined;
  const files: PropertyFile[] = [];
  for (const token of tokens) {
    const match = /^([^:]+):(\d{1,15}):(\d{1,15})$/.exec(token.trim());
    if (match?.[1] === undefined) return undefined;
    files.push({ name: match[1], offset: Number(match[2]), bytes: Number(match[3]) });
  }
  return files;
}
