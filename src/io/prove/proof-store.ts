import { createHash } from 'node:crypto';
import { mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import envPaths from 'env-paths';
import * as z from 'zod';
import type { MediumPlace } from '../../core/report/medium-reports.ts';
import { readRegularFileSync } from '../files/regular-file.ts';
import type { ProofState } from './prove-device.ts';

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
export interface ProofStore {
  load(): ProofState | undefined;
  keep(state: ProofState): void;
  clear(): void;
}

const proofFolder = (): string => join(envPaths('stickwright', { suffix: '' }).data, 'proofs');

/** The medium is named by its serial where it has one, else by its place; that it is the same one is asked of its own bytes. */
export function openProofStore({ path, bytes, drive }: MediumPlace, folder = proofFolder()): ProofStore {
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
    keep(state) {
      mkdirSync(folder, { recursive: true });
      rmSync(`${file}.new`, { force: true });
      writeFileSync(`${file}.new`, JSON.stringify(state), { flag: 'wx', mode: 0o600 });
      renameSync(`${file}.new`, file);
    },
    clear: () => rmSync(file, { force: true }),
  };
}
