import type { ModeRules } from '../../model/family.ts';
import type { Mode } from '../../model/mode.ts';
import { usualMinutes } from '../cards/usual-practice.ts';

/** A cheap USB 2 stick: it writes 4 to 15 MB/s and is read at about 35 (from memory). Rather too long than too short. */
const writeRate = 5e6;
const readRate = 30e6;

/** Fetching, plugging in, looking at the plan, tagging: a stick takes five minutes at least (from memory). */
const fewestMinutes = 5;

/** Minutes to make a stick of a package at the desk: written, read back, tagged; whole minutes. */
export const setUpMinutesFor = (bytes: number): number =>
  Math.max(fewestMinutes, Math.ceil((bytes / writeRate + bytes / readRate) / 60));

/** Where the minutes at a panel are known from. */
export type MinutesFrom = 'said' | 'family' | 'memory';

/** Minutes at a panel: as the person said, else the longest that the family's maker states, else the longest that is usual. */
export function visitMinutesFor(
  said: number | undefined,
  rules: ModeRules,
  mode: Mode,
): { readonly minutes: number; readonly from: MinutesFrom } {
  if (said !== undefined) return { minutes: said, from: 'said' };
  if (rules.minutes !== undefined) return { minutes: rules.minutes.to, from: 'family' };
  return { minutes: usualMinutes[mode].to, from: 'memory' };
}
