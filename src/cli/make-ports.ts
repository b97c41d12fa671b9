import { randomInt } from 'node:crypto';
import { makeStickCode } from '../core/manifest/stick-names.ts';
import { findPublishedHashes } from '../io/archive/find-published-hashes.ts';
import { lookIntoFiles } from '../io/archive/look-into.ts';
import { openArchive } from '../io/archive/open-archive.ts';
import { nodeDigesting } from '../io/digest/node-digest.ts';
import { isSignedBy, keyFiles, readDeskKey } from '../io/files/desk-key.ts';
import { auditMediumAt } from '../io/medium/audit-medium-at.ts';
import { watchUpdatePackage } from '../io/update-package/watch-update-package.ts';
import { openVolume } from '../io/volume/open-volume.ts';
import type { Ports } from '../workflows/ports.ts';
import { toolVersion } from './words.ts';

export const makePorts = (): Ports => ({
  openArchive,
  openVolume,
  digesting: nodeDigesting,
  auditMedium: auditMediumAt,
  lookInto: lookIntoFiles,
  watchUpdatePackage,
  findPublishedHashes,
  now: () => new Date(startedMs()).toISOString(),
  newStickCode: () => makeStickCode((below) => randomInt(below)),
  toolVersion,
  get deskKey() {
    return readDeskKey(keyFiles(process.env));
  },
  isSignedBy,
});

/** SOURCE_DATE_EPOCH (reproducible-builds.org) stands in for the clock where it is set. */
function startedMs(): number {
  const fixed = process.env.SOURCE_DATE_EPOCH;
  return fixed !== undefined && /^\d{1,12}$/.test(fixed) ? Number(fixed) * 1000 : Date.now();
}
