import { stat } from 'node:fs/promises';
import { join } from 'node:path';
import type { DeskSeen, StickSeen } from '../../core/guide/at-a-glance.ts';
import { familiesFor, roundDeskFor, shelfFor } from '../desk.ts';
import { command } from '../frame/command.ts';

/** What lies on this desk; also what the bare command says at a terminal. */
export const next = command({
  words: (it) =>
    it.description(
      'Says what there is (sticks, packages, families, a round) and what is probably next. Changes nothing.',
    ),
  examples: ['stickwright next'],
  run: async () => {
    const { lookAtDesk } = await import('../../core/guide/at-a-glance.ts');
    const quietly = async <Seen>(look: () => Promise<Seen>) => await look().catch(() => undefined);
    const [sticks, packages, families, rounds, begun] = await Promise.all([
      quietly(seeSticks),
      quietly(async () => (await (await shelfFor(undefined)).shelf.list()).packages.length).then((count) => count ?? 0),
      quietly(async () => (await familiesFor([])).families.map(({ family }) => family)),
      quietly(seeRound),
      quietly(seeBegun),
    ]);
    const seen: DeskSeen = { sticks, packages, families, round: undefined, rounds: 0, ...rounds, begun };
    return { verdict: 'ready' as const, glance: lookAtDesk(seen) };
  },
  text: async ({ glance }, look) => (await import('../../render/text/render-guide.ts')).renderGlance(glance, look),
});

async function seeSticks(): Promise<readonly StickSeen[]> {
  const { listDrives } = await import('../../io/drives/list-drives.ts');
  const { nameInWords } = await import('../../render/text/render-drives.ts');
  const { manifestPath } = await import('../../core/manifest/stick-names.ts');
  const { targetOf } = await import('../../core/report/name-targets.ts');
  const drives = (await listDrives()).filter(({ refusedBecause }) => refusedBecause === undefined);
  return await Promise.all(
    drives.map(async (drive) => {
      const choice = targetOf(drive);
      const target = 'target' in choice ? choice.target : drive.device;
      const prepared = await stat(join(target, manifestPath)).then(
        () => true,
        () => false,
      );
      return { target, name: nameInWords(drive), prepared };
    }),
  );
}

/** The one round that lies here, with how far it is. */
async function seeRound(): Promise<Pick<DeskSeen, 'round' | 'rounds'>> {
  const { findRoundPlace } = await import('../../io/rounds/open-round.ts');
  const question = { named: undefined, list: undefined, environment: process.env, workingFolder: process.cwd() };
  const place = await findRoundPlace(question);
  if (place.state !== 'one') return { round: undefined, rounds: place.state === 'several' ? place.folders.length : 0 };
  const { readRound } = await import('../../workflows/round-desk.ts');
  const { status } = await readRound(await roundDeskFor({}));
  const toUpdate = status.round.rooms.filter(({ state }) => state === 'update').length;
  return { round: { folder: place.folder, done: status.counts.done, toUpdate }, rounds: 1 };
}

/** The label of what was begun with `guide`. */
async function seeBegun(): Promise<string | undefined> {
  const { openDraft } = await import('../../io/files/drafts.ts');
  const { labelOf } = await import('../../core/guide/label-questions.ts');
  const { answers } = await openDraft('guide');
  return Object.keys(answers).length === 0 ? undefined : labelOf(answers).split('\n')[0];
}
