import { randomInt } from 'node:crypto';
import { findPublishedHashes } from '../io/archive/find-published-hashes.ts';
import { openArchive } from '../io/archive/open-archive.ts';
import { nodeDigesting } from '../io/digest/node-digest.ts';
import { watchUpdatePackage } from '../io/update-package/watch-update-package.ts';
import { openVolume } from '../io/volume/open-volume.ts';
import type { Ports } from '../workflows/ports.ts';
import { toolVersion } from './tool-version.ts';

export const makePorts = (): Ports => ({
  openArchive,
  openVolume,
  digesting: nodeDigesting,
  watchUpdatePackage,
  findPublishedHashes,
  now: () => new Date(startedMs()).toISOString(),
  newStickCode,
  toolVersion,
});

/** SOURCE_DATE_EPOCH (reproducible-builds.org) stands in for the clock where it is set. */
function startedMs(): number {
  const fixed = process.env.SOURCE_DATE_EPOCH;
  return fixed !== undefined && /^\d{1,12}$/.test(fixed) ? Number(fixed) * 1000 : Date.now();
}

/** Without the characters that people misread for one another: O 0 I 1 S 5 B 8 Z 2 G 6 Q U V. */
const alphabet = 'ACDEFHJKLMNPRTWXY3479';

/** `K7M-R4X`: about 86 million codes, enough that no desk meets one twice. */
function newStickCode(): string {
  const characters = Array.from({ length: 6 }, () => alphabet[randomInt(alphabet.length)]).join('');
  return `${characters.slice(0, 3)}-${characters.slice(3)}`;
}
