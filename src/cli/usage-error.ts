/** The words of the command line do not fit together: exit code 2. */
export class UsageError extends Error {
  readonly todo: string;

  constructor(message: string, todo: string) {
    super(message);
    this.name = 'UsageError';
    this.todo = todo;
  }
}
