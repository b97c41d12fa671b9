export interface Interruption {
  readonly signal: AbortSignal;
  end(): void;
}

const exitCodeOfSignal = { SIGINT: 130, SIGTERM: 143 } as const;

/**
 * The first Ctrl-C (or a polite kill) lets the work stop at a clean place and say what is unfinished; the second ends the
 * process at once. A stick is safe in both cases: without its manifest it says not ready.
 */
export function watchInterruption(stderr: NodeJS.WriteStream): Interruption {
  const controller = new AbortController();
  const hear = (name: keyof typeof exitCodeOfSignal): void => {
    if (controller.signal.aborted) process.exit(exitCodeOfSignal[name]);
    stderr.write('\nStopping. Press Ctrl-C again to stop at once.\n');
    controller.abort(new Error(`interrupted by ${name}`));
  };
  process.on('SIGINT', hear);
  process.on('SIGTERM', hear);
  return {
    signal: controller.signal,
    end: () => {
      // Whoever is impatient while the process says how to go on still gets the documented exit code.
      if (controller.signal.aborted) return;
      process.off('SIGINT', hear);
      process.off('SIGTERM', hear);
    },
  };
}
