import { ToolError } from '../../core/model/tool-error.ts';
import { findDifference, type SeenStick } from '../../core/plan/compare-sticks.ts';
import type { OpenVolume } from '../../io/volume/volume.ts';

/**
 * Looks at the target once more, just before writing: a person may have taken their time to agree. Throws `stick/swapped`
 * where another stick is there, or something on it has changed since it was planned.
 */
export async function checkSameStick(target: string, planned: SeenStick, openVolume: OpenVolume): Promise<void> {
  const volume = await openVolume(target, 'read');
  try {
    const difference = findDifference(planned, { facts: volume.facts, entries: await volume.entries() });
    if (difference === undefined) return;
    throw new ToolError(
      'stick/swapped',
      target,
      `This is not the stick that the plan was made for: ${difference}. Nothing was written.`,
      'Make sure that the right stick is plugged in, and run the same command again to see a new plan.',
    );
  } finally {
    await volume.close();
  }
}
