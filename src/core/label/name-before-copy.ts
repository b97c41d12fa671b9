/** What browsers and file managers add to a second copy; the rest is the maker's name. */
const copyMarks: readonly RegExp[] = [
  // Before the bare number, which would leave the rest of this one in the name.
  / - [^.]*\bcopy(?: ?\(\d+\))?(?=\.[a-z0-9]+$)/i,
  / ?\(\d+\)(?=\.[a-z0-9]+$)/i,
  / copy(?: \d+)?(?=\.[a-z0-9]+$)/i,
  /\.zip(?=\.zip$)/i,
  /(?<=\.zip)\.(?:txt|html?|bin|download)$/i,
];

export interface CopyName {
  /** What was added to the name. */
  readonly mark: string;
  readonly original: string;
}

/** The name that a file probably had before a browser or a file manager changed it. */
export function nameBeforeCopy(fileName: string): CopyName | undefined {
  for (const pattern of copyMarks) {
    const match = pattern.exec(fileName);
    if (match !== null && match.index > 0) return { mark: match[0].trim(), original: fileName.replace(pattern, '') };
  }
  return undefined;
}
