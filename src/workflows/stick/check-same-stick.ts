import type { StickFacts } from '../../core/model/stick-facts.ts';
import { hasCode } from '../../core/model/tool-error.ts';
import { findDifference, isMountGone, type SeenStick } from '../../core/plan/compare-sticks.ts';
import { type OpenVolume, stickGone, stickSwapped } from '../../io/volume/volume.ts';

/**
 * Opens what was looked at before. Throws `stick/gone` where there is nothing any more, or where the stick is no longer
 * mounted and only the computer's own folder is left: whoever takes that for the stick finds it empty.
 */
export const openAgain =
  (openVolume: OpenVolume, before: StickFacts): OpenVolume =>
  async (target, access, options) => {
    const volume = await openVolume(target, access, options).catch((error: unknown) => {
      throw hasCode(error, 'stick/not-found') ? stickGone(target) : error;
    });
    if (!isMountGone(before, volume.facts)) return volume;
    await volume.close();
    throw stickGone(target);
  };

/**
 * Looks at the target once more, just before writing: a person may have taken their time to agree. Throws
 * `stick/swapped` where another stick is there, or something on it has changed since it was planned; `stick/gone` where
 * none is.
 */
export async function checkSameStick(target: string, planned: SeenStick, openVolume: OpenVolume): Promise<void> {
  const volume = await openAgain(openVolume, planned.facts)(target, 'read');
  try {
    const difference = findDifference(planned, { facts: volume.facts, entries: await volume.entries() });
    if (difference === undefined) return;
    throw stickSwapped(target, difference);
  } finally {
    await volume.close();
  }
}
