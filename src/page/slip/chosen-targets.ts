import type { TargetSeen } from '../../core/report/window-talk.ts';
import { answers, targets } from '../state.ts';

/** As they were ticked; a path holds no line break, so they are kept as lines. */
export const tickedTargets = (): readonly string[] =>
  (answers.value.sticks ?? '').split('\n').filter((target) => target !== '');

/** The stick itself, also where the system opened it as a folder after it was ticked as a drive. */
const seenAs = (ticked: string): TargetSeen | undefined =>
  targets.value.find(({ target }) => target === ticked) ?? targets.value.find(({ device }) => device === ticked);

/** Ticked sticks that are here and can be used now. */
export const chosenTargets = (): readonly TargetSeen[] =>
  tickedTargets().flatMap((ticked) => {
    const seen = seenAs(ticked);
    return seen === undefined || seen.refused !== undefined ? [] : [seen];
  });

/** Ticked, and gone since. */
export const missingTargets = (): readonly string[] => tickedTargets().filter((ticked) => seenAs(ticked) === undefined);
