/**
 * Why the tool could not answer. A closed set: each code names a state of the machine, never of the input's content
 * (that is a finding). Codes are stable and documented in the README; what each means is for `explain`, and what helps
 * is said with the error.
 */
export const toolErrorMeanings = {
  'file/not-found': 'There is no file or folder of that name.',
  'file/not-permitted': 'This account may not read or write it, or something is there that is never written over.',
  'file/unreadable': 'It cannot be read, or is not the kind of file that is expected there.',
  'file/changed-while-read': 'Somebody or something wrote to it while it was read.',
  'stick/not-found': 'There is no stick, image or folder of that name.',
  'stick/gone': 'The stick was there, and is there no more.',
  'stick/not-ready': 'The stick is listed, but no medium answers there.',
  'stick/locked': 'The stick is locked by encryption.',
  'stick/swapped': 'Another stick is there than the one that was shown.',
  'stick/read-only': 'The stick cannot be written.',
  'stick/full': 'There is no room left on it.',
  'stick/damaged': 'Its tables or folders are damaged, as a pull in the middle of a write leaves them.',
  'stick/read-failed': 'Reading the stick failed, or it gives back something else than was written.',
  'stick/write-failed': 'Writing to the stick failed.',
  'stick/unsupported-file-system': 'The tool cannot work with this file system there.',
  'stick/refused': 'It is nothing that the tool writes to or erases.',
  'stick/in-use': 'Another program uses the stick.',
  'stick/name-taken': 'Something else has a name there that is needed.',
  'stick/not-as-listed': 'Something on the stick is not what its folder says.',
  'family/unreadable': 'A family file is not sound, so that nothing was judged by it.',
  'shelf/not-found': 'There is no shelf.',
  'shelf/refused': 'The folder is no shelf, or one that this version cannot use.',
  'shelf/write-failed': 'The shelf cannot be written.',
  'shelf/content-changed': 'A package on the shelf is not what was recorded.',
  'round/not-found': 'There is no plan or no folder of a round.',
  'round/unreadable': 'The plan or the records of a round cannot be read.',
  'round/write-failed': 'The folder of a round cannot be written.',
  'cards/no-browser': 'There is no browser that could print the pages to PDF.',
  'drives/unavailable': 'The system does not say which drives there are.',
  'system/failed': 'The operating system refused something that it was not expected to.',
  bug: 'This is a fault of the tool itself.',
} as const;

export type ToolErrorCode = keyof typeof toolErrorMeanings;

export const isToolErrorCode = (text: string): text is ToolErrorCode => Object.hasOwn(toolErrorMeanings, text);

/**
 * A question could not be answered. Made in io, beside what was asked, and shown by cli; between the two it is only
 * looked at with `hasCode`, `failureOf` and `unforeseen`.
 */
export class ToolError extends Error {
  readonly code: ToolErrorCode;
  /** What it is about: a path, a device, an entry. */
  readonly subject: string;
  /** What the person can do next, as one or more full sentences. */
  readonly todo: string;

  constructor(code: ToolErrorCode, subject: string, message: string, todo: string, cause?: unknown) {
    super(message, cause === undefined ? undefined : { cause });
    this.name = 'ToolError';
    this.code = code;
    this.subject = subject;
    this.todo = todo;
  }
}

/**
 * Whether it is a ToolError of one of these CODES, where that is an answer all the same or where there is another way
 * on.
 */
export const hasCode = (error: unknown, ...codes: readonly [ToolErrorCode, ...ToolErrorCode[]]): error is ToolError =>
  error instanceof ToolError && codes.includes(error.code);

/**
 * Why one of several could not be done, to be kept in its answer while the others go on. Throws a bug or an
 * interruption on.
 */
export function failureOf(error: unknown): ToolError {
  if (error instanceof ToolError) return error;
  throw error;
}

/**
 * The operating system's own word in an error of a system call (errno(3)), also where libuv has no name for it:
 * `UNKNOWN`, or `Unknown system error -123`. Undefined for what no system call said: that is a bug.
 */
export function systemWordOf(error: unknown): string | undefined {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  const isWord = typeof code === 'string' && /^(E[A-Z0-9]+|UNKNOWN|Unknown system error -\d+)$/.test(code);
  return isWord ? code : undefined;
}

/**
 * What nobody foresaw, about SUBJECT alone, so that the rest can go on: a word of the system, or a fault of this tool.
 */
export function unforeseen(error: unknown, subject: string): ToolError {
  if (error instanceof ToolError) return error;
  const said = error instanceof Error ? error.message : String(error);
  const word = systemWordOf(error);
  return word === undefined
    ? new ToolError(
        'bug',
        subject,
        `Something that cannot happen did: ${said}`,
        'This is a fault of the tool. A stick that was being written says not ready; please report it with what --debug shows.',
        error,
      )
    : new ToolError(
        'system/failed',
        subject,
        `The operating system refused something that it was not expected to: ${said}`,
        'The word in capitals says what is missing or full. Mend that first, then run the same command again; without it nothing changes. A stick that was being written says not ready until then.',
        error,
      );
}
