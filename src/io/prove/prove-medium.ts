import { createHash, randomBytes, randomInt } from 'node:crypto';
import { join } from 'node:path';
import envPaths from 'env-paths';
import * as z from 'zod';
import type { ProofFacts } from '../../core/checks/medium/check-proof.ts';
import type { MediumPlace } from '../../core/report/medium-reports.ts';
import { makeFolders, moveInto, removeFile, writeDurably } from '../files/durable-files.ts';
import { readRegularFileSync } from '../files/regular-file.ts';
import { checkSize, claimMedium } from '../format/claim-medium.ts';
import { openFreshDevice } from '../volume/direct-device.ts';
import { openFileDevice } from '../volume/file-device.ts';
import type { FreshDevice } from '../volume/sector-device.ts';
import { canGoOn, type ProofRunning, type ProofState, proveDevice, startProof } from './prove-device.ts';
import { sampleDevice } from './sample-device.ts';
import { seedBytes } from './tally.ts';

type ProveRunning = Pick<ProofRunning, 'signal' | 'heard'>;

export const newSeed = (): string => randomBytes(seedBytes).toString('hex');

/**
 * Erases the medium by writing a pattern over it, whole or at chosen places, and says what came back. An unfinished
 * proof of the same medium is taken up. Throws ToolError `stick/swapped`, `stick/in-use`, `stick/gone`.
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
      if (facts.finished) await store.clear();
      return facts;
    } finally {
      await device.close();
    }
  } finally {
    await claimed.release();
  }
}

const count = z.number().int();
const stateSchema: z.ZodType<ProofState> = z.object({
  seed: z.string().regex(/^[0-9a-f]{16}$/),
  bytes: count.positive(),
  phase: z.enum(['writing', 'reading-back']),
  areas: count.nonnegative(),
  tally: z.object({
    goodSectors: count,
    badSectors: count,
    firstBad: count,
    lastBad: count,
    badAreas: count,
    wrappedSectors: count,
    wrapSectors: count,
    unstableAreas: count,
    firstUnstable: count,
  }),
  writeMs: z.number().nonnegative(),
  readMs: z.number().nonnegative(),
});

/** Where an unfinished proof of one medium is remembered on this computer. */
interface ProofStore {
  load(): ProofState | undefined;
  keep(state: ProofState): Promise<void>;
  clear(): Promise<void>;
}

const proofFolder = (): string => join(envPaths('stickwright', { suffix: '' }).data, 'proofs');

/**
 * The medium is named by its serial where it has one, else by its place; that it is the same one is asked of its own
 * bytes.
 */
function openProofStore({ path, bytes, drive }: MediumPlace, folder = proofFolder()): ProofStore {
  const name = createHash('sha256')
    .update(`${drive?.serial ?? path} ${bytes}`)
    .digest('hex')
    .slice(0, 24);
  const file = join(folder, `${name}.json`);
  return {
    load() {
      try {
        const parsed = stateSchema.safeParse(JSON.parse(readRegularFileSync(file, 65_536).toString('utf8')));
        return parsed.success ? parsed.data : undefined;
      } catch {
        return undefined; // none, or not ours: the proof starts anew
      }
    },
    async keep(state) {
      await makeFolders(folder);
      await removeFile(`${file}.new`);
      await writeDurably(`${file}.new`, JSON.stringify(state), 0o600);
      await moveInto(`${file}.new`, file);
    },
    clear: () => removeFile(file),
  };
}
