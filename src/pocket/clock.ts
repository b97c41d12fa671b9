import { computed, signal } from '@preact/signals';
import { lines, pocket } from './kept.ts';

/** The phone's clock, looked at every few seconds and whenever the screen comes back: timers sleep with the phone. */
export const nowMs = signal(Date.now());

export const lookAtClock = (): void => {
  nowMs.value = Date.now();
};

export function watchClock(): void {
  setInterval(lookAtClock, 5_000);
  for (const event of ['visibilitychange', 'focus', 'pageshow']) addEventListener(event, lookAtClock);
  document.addEventListener('visibilitychange', lookAtClock);
}

/** Two clocks that were set by hand differ by so much. */
const usualMs = 5 * 60_000;

/** When this file was made, or the last entry, where this phone's clock says that it is earlier: in milliseconds. */
export const aheadOfClockMs = computed(() => {
  const knownMs = Math.max(Date.parse(pocket.madeAt), ...lines.value.map(({ record }) => Date.parse(record.notedAt)));
  return knownMs - usualMs > nowMs.value ? knownMs : undefined;
});
