import type { Tell } from '../core/report/events.ts';

/** Passes on how far a piece of work with stages has come; a stage begins with its first news. */
export function tellStages(target: string, tell: Tell) {
  let told: string | undefined;
  return (stage: 'writing' | 'reading-back', doneBytes: number, totalBytes: number): void => {
    if (told !== stage) tell({ kind: 'stage', target, stage, totalBytes });
    told = stage;
    tell({ kind: 'progress', target, stage, doneBytes, totalBytes });
  };
}
