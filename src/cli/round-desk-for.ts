import { randomUUID } from 'node:crypto';
import { nodeDigesting } from '../io/digest/node-digest.ts';
import type { RoundDesk } from '../workflows/round-desk.ts';
import { loadFamiliesFor } from './load-families-for.ts';
import { makePorts } from './make-ports.ts';
import { type RoundChoice, roundFolderFor } from './round-folder-for.ts';

/** What the commands on a round's records work with. */
export async function roundDeskFor(choice: RoundChoice): Promise<RoundDesk> {
  return {
    folder: await roundFolderFor(choice),
    families: async (named) => (await loadFamiliesFor(named)).families,
    sha256: nodeDigesting.sha256,
    now: makePorts().now,
    newId: randomUUID,
  };
}
