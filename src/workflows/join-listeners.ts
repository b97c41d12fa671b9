import type { PassListener } from '../io/archive/archive.ts';

type Heard = 'raw' | 'entryStart' | 'entryData' | 'entryEnd';

/** One listener that stands for many. All hear at the same time; the reading waits for the slowest. */
export function joinListeners(listeners: readonly PassListener[]): PassListener {
  const joined: PassListener = {};
  const all = <Name extends Heard>(name: Name): void => {
    const hearing = listeners.filter((listener) => listener[name] !== undefined);
    if (hearing.length === 0) return;
    const hear = (...args: unknown[]): void | Promise<void> => {
      const waiting = hearing
        .map((listener) => (listener[name] as (...args: unknown[]) => void | Promise<void>)(...args))
        .filter((answer) => answer !== undefined);
      return waiting.length === 0 ? undefined : Promise.all(waiting).then(() => {});
    };
    Object.assign(joined, { [name]: hear });
  };
  for (const name of ['raw', 'entryStart', 'entryData', 'entryEnd'] as const) all(name);
  return joined;
}
