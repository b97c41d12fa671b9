import { type ChildProcess, fork } from 'node:child_process';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { systemWordOf, ToolError } from '../../core/model/tool-error.ts';

/** Another process of this same program, which hears messages of ours and sends its own. */
export interface OwnProcess<ToIt, FromIt> {
  /** Undefined where it could not be started. */
  readonly pid: number | undefined;
  /** Nobody hears it where the process has ended. */
  readonly send: (message: ToIt) => void;
  readonly hear: (listener: (message: FromIt) => void) => void;
  /** Hands CHUNKS to its standard input. Resolves when all of them were taken, or nobody takes them any more. */
  readonly feed: (chunks: AsyncIterable<Uint8Array>) => Promise<void>;
  /** Resolves with why, however it ends. */
  readonly ended: Promise<ToolError>;
  /** Ends it where it stands. One that hangs in a system call ends when that does, and nobody here waits for it. */
  readonly kill: () => void;
}

/**
 * V8 lets buffers of 64 MB in all become garbage before it looks through the whole heap. With young objects in 16 MB,
 * as usual, they are not let go of before that, and a package of 1 GB costs forty such looks, a fifth of the time
 * (measured by test/bench/window.mjs); with young objects in 4 MB, two.
 */
const heapWords = ['--max-semi-space-size=4'];

/** The end of what it said on stderr: a stack begins there. */
const mostSaid = 4000;

/**
 * Starts SCRIPT, a file of this program, by the Node that runs this. It has a session of its own, so that a Ctrl-C is
 * this process's alone to hear, and that what it starts is not cut off by one. When this process ends, however it does,
 * its channel closes: see `parentProcess`.
 */
export function startOwnProcess<ToIt extends object, FromIt>(
  script: string,
  words: readonly string[],
): OwnProcess<ToIt, FromIt> {
  const child = fork(script, words, {
    stdio: ['pipe', 'ignore', 'pipe', 'ipc'],
    execArgv: [...process.execArgv, ...heapWords],
    // Bytes stay bytes, and what is undefined stays that.
    serialization: 'advanced',
    detached: process.platform !== 'win32',
  });
  let said = '';
  child.stderr?.on('data', (chunk: Buffer) => {
    said = (said + chunk.toString('utf8')).slice(-mostSaid);
  });
  for (const stream of [child.stdin, child.stderr]) stream?.on('error', () => {});
  const ended = new Promise<ToolError>((resolve) => {
    child.once('error', (cause) => resolve(endedEarly(child, cause.message)));
    child.once('close', () => resolve(endedEarly(child, said)));
  });
  return {
    pid: child.pid,
    send: (message) => {
      if (child.connected) child.send(message, () => {});
    },
    hear: (listener) => void child.on('message', (message) => listener(message as FromIt)),
    feed: async (chunks) => {
      if (child.stdin !== null) await pipeline(Readable.from(chunks), child.stdin).catch(() => {});
    },
    ended,
    kill: () => {
      child.kill('SIGKILL');
      if (child.connected) child.disconnect();
      child.stdin?.destroy();
      child.stderr?.destroy();
      child.unref();
    },
  };
}

function endedEarly({ exitCode, signalCode, pid }: ChildProcess, said: string): ToolError {
  const how = signalCode === null ? `with ${exitCode ?? 'no'} as its exit code` : `by ${signalCode}`;
  const fault = said
    .split('\n')
    .find((line) => /^\w*Error\b/.test(line))
    ?.trim();
  return new ToolError(
    fault === undefined ? 'system/failed' : 'bug',
    '',
    `What did this work (process ${pid ?? 'none'}) ended ${how} before it had an answer${fault === undefined ? '' : `: ${fault}`}.`,
    'A stick that was being written says not ready until the same job has finished it: start that again. What is on a stick now is said by verifying it.',
    said,
  );
}

/** The process that started this one. */
export interface ParentProcess<ToUs, FromUs> {
  readonly hear: (listener: (message: ToUs) => void) => void;
  /** Resolves when it is on its way; nobody hears it where the parent has ended. */
  readonly send: (message: FromUs) => Promise<void>;
  /** Aborted when the parent has ended, or has no more use for this process. */
  readonly gone: AbortSignal;
  /** Aborted when the system asks this process to end. */
  readonly asked: AbortSignal;
  readonly end: () => never;
}

/** The parent's end of the channel. From here on Ctrl-C and a terminal that goes away are the parent's to hear. */
export function parentProcess<ToUs, FromUs extends object>(): ParentProcess<ToUs, FromUs> {
  const gone = new AbortController();
  const asked = new AbortController();
  for (const name of ['SIGINT', 'SIGHUP'] as const) process.on(name, () => {});
  process.on('SIGTERM', () => asked.abort(new Error('interrupted by SIGTERM')));
  process.on('disconnect', () => gone.abort(new Error('the desk has ended')));
  // Who would read it has ended.
  process.stderr.on('error', () => {});
  return {
    hear: (listener) => void process.on('message', (message) => listener(message as ToUs)),
    send: (message) =>
      new Promise<void>((resolve) => {
        if (process.send === undefined || !process.connected) resolve();
        else process.send(message, undefined, undefined, () => resolve());
      }),
    gone: gone.signal,
    asked: asked.signal,
    end: () => process.exit(0),
  };
}

/** Whether there is a process of this number; its number may have been another one's before. */
export function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0); // sends nothing
    return true;
  } catch (error) {
    return systemWordOf(error) === 'EPERM'; // somebody else's process
  }
}
