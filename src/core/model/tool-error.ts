/**
 * Why the tool could not answer. A closed set: each code names a state of the machine, never of the input's content
 * (that is a finding). Codes are stable and documented in the README.
 */
export type ToolErrorCode =
  | 'file/not-found'
  | 'file/not-permitted'
  | 'file/unreadable'
  | 'file/changed-while-read'
  | 'stick/not-found'
  | 'stick/gone'
  | 'stick/swapped'
  | 'stick/read-only'
  | 'stick/full'
  | 'stick/damaged'
  | 'stick/read-failed'
  | 'stick/write-failed'
  | 'stick/unsupported-file-system'
  | 'stick/refused'
  | 'stick/in-use'
  | 'stick/name-taken'
  | 'stick/not-as-listed'
  | 'family/unreadable'
  | 'shelf/not-found'
  | 'shelf/refused'
  | 'shelf/write-failed'
  | 'shelf/content-changed'
  | 'round/not-found'
  | 'round/unreadable'
  | 'round/write-failed'
  | 'cards/no-browser'
  | 'drives/unavailable'
  | 'system/failed'
  | 'bug';

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
        'This is a fault of the tool. A stick that was being written says not ready; please report what follows.',
        error,
      )
    : new ToolError(
        'system/failed',
        subject,
        `The operating system refused something that it was not expected to: ${said}`,
        'Look at the path and the word for what is missing or full, mend that, and run the same command again. A stick that was being written says not ready until then.',
        error,
      );
}
