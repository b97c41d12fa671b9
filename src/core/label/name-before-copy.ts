/** What browsers and file managers add to a second copy; the rest is the maker's name. */
const copyMarks: readonly (readonly [RegExp, string])[] = [
  [/^(.+?)( ?\(\d+\))(\.[a-z0-9]+)$/i, '$1$3'],
  [/^(.+?)( - [^.]*\bcopy(?: ?\(\d+\))?)(\.[a-z0-9]+)$/i, '$1$3'],
  [/^(.+?)( copy(?: \d+)?)(\.[a-z0-9]+)$/i, '$1$3'],
  [/^(.+)(\.zip)(\.zip)$/i, '$1$3'],
  [/^(.+\.zip)(\.(?:txt|html?|bin|download))$/i, '$1'],
];

interface CopyName {
  /** What was added to the name. */
  readonly mark: string;
  readonly original: string;
}

/** The name that a file probably had before a browser or a file manager changed it. */
export function nameBeforeCopy(fileName: string): CopyName | undefined {
  for (const [pattern, original] of copyMarks) {
    const match = pattern.exec(fileName);
    if (match !== null) return { mark: (match[2] ?? '').trim(), original: fileName.replace(pattern, original) };
  }
  return undefined;
}
