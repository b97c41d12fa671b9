import { randomBytes, randomInt } from 'node:crypto';
import type { MediumPlace } from '../../core/report/medium-reports.ts';
import type { ProofFacts } from '../../core/report/proof-facts.ts';
import { checkSize, claimMedium } from '../format/claim-medium.ts';
import { openFreshDevice } from '../volume/direct-device.ts';
import { openFileDevice } from '../volume/file-device.ts';
import type { FreshDevice } from '../volume/sector-device.ts';
import { seedBytes } from './pattern.ts';
import { openProofStore } from './proof-store.ts';
import { canGoOn, type ProofRunning, proveDevice, startProof } from './prove-device.ts';
import { sampleDevice } from './sample-device.ts';

export type ProveRunning = Pick<ProofRunning, 'signal' | 'heard'>;

export const newSeed = (): string => randomBytes(seedBytes).toString('hex');

/**
 * Erases the medium by writing a pattern over it, whole or at chosen places, and says what came back. An unfinished proof of
 * the same medium is taken up. Throws ToolError `stick/swapped`, `stick/in-use`, `stick/gone`.
 */
export async function proveMedium(
  medium: MediumPlace,
  how: 'whole' | 'sample',
  running: ProveRunning,
): Promise<ProofFacts> {
  const claimed = await claimMedium(medium);
  try {
    const device = openFileDevice(medium.path, 'write');
    const openFresh = (): FreshDevice => openFreshDevice(medium.path, device.sizeBytes, claimed.mayBeDirect);
    try {
      checkSize(medium, device);
      if (how === 'sample')
        return await sampleDevice(device, openFresh, {
          ...running,
          seed: newSeed(),
          random: (below) => randomInt(below),
        });
      const store = openProofStore(medium);
      const kept = store.load();
      const state = kept !== undefined && canGoOn(device, kept) ? kept : startProof(newSeed(), device.sizeBytes);
      const facts = await proveDevice(device, openFresh, state, { ...running, keep: store.keep });
      if (facts.finished) store.clear();
      return facts;
    } finally {
      await device.close();
    }
  } finally {
    await claimed.release();
  }
}
