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
  | 'stick/read-failed'
  | 'stick/write-failed'
  | 'stick/unsupported-file-system'
  | 'stick/refused'
  | 'stick/in-use'
  | 'stick/name-taken'
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
  | 'system/failed';

/** Thrown in io when a question cannot be answered; caught in cli only. */
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
