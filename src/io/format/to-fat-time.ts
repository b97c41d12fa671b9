import type { FatTime } from '../../core/volume-format/layout/encode-fat-volume.ts';

/** A moment in UTC; nothing that reads a label's time depends on the zone, and the same moment makes the same bytes. */
export const toFatTime = (at: Date): FatTime => ({
  year: at.getUTCFullYear(),
  month: at.getUTCMonth() + 1,
  day: at.getUTCDate(),
  hour: at.getUTCHours(),
  minute: at.getUTCMinutes(),
  second: at.getUTCSeconds(),
});
