import { readList, readPlan, writePlan } from './plan-file.ts';
import { openRecords } from './records.ts';
import type { RoundFolder } from './rounds.ts';

/**
 * The folder of a round, which need not be there yet: saving a plan makes it. `who` is the person at this desk; their records
 * go into a file of their own.
 */
export const openRound = (place: string, who: string): RoundFolder => ({
  place,
  plan: () => readPlan(place),
  list: () => readList(place),
  savePlan: (round, list) => writePlan(place, round, list),
  ...openRecords(place, who),
});
