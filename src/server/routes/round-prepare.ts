import { randomUUID } from 'node:crypto';
import { Hono } from 'hono';
import * as z from 'zod';
import { verdictOf } from '../../core/findings/finding.ts';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import { leftoverPolicies } from '../../core/model/mode.ts';
import { plannedOf } from '../../core/report/name-targets.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { comparable } from '../../core/rounds/records/find-room.ts';
import { noLoad, noPlan } from '../../io/rounds/rounds.ts';
import { roundPrepareDocument } from '../../render/json/round-documents.ts';
import { findingsOf, head } from '../../render/json/to-json.ts';
import { prepareRound } from '../../workflows/round-prepare.ts';
import { accepted, acceptedInWords, acceptedReasons } from '../accepted.ts';
import { agreeToDrives } from '../agree-to-drive.ts';
import type { AtWork, DeskAtHand, WorkKind } from '../desk-at-hand.ts';
import { proposalOf } from '../proposal.ts';
import { signers, trustedIn } from '../published.ts';
import { bodyOf, refusal } from './body.ts';

const order = z.object({
  load: z.string().max(20),
  target: z.string().max(4096),
  leftovers: z.enum(leftoverPolicies).default('stop'),
  accepted,
  signers,
});

/** One stick of the plan at a time: which is next is said by the records, so any end is a place to go on from. */
export const roundPrepareRoutes = (desk: DeskAtHand): Hono =>
  new Hono().post('/', async (context) => {
    const wanted = await bodyOf(context, order);
    acceptedReasons(wanted.accepted);
    if (!desk.knowsTarget(wanted.target)) throw refusal(409, `${wanted.target} is not plugged in any more.`);
    const { load } = await loadOf(desk, wanted.load);
    const about = `load ${load.id} on ${wanted.target}`;
    return context.json({ id: desk.work.start(preparingForRound, wanted, { about, targets: [wanted.target] }) });
  });

export const preparingForRound: WorkKind<z.output<typeof order>> = {
  kind: 'round prepare',
  run: (desk, wanted, at) => prepare(desk, wanted, at).finally(() => desk.tell({ event: 'changed', what: 'round' })),
};

async function loadOf(desk: DeskAtHand, wanted: string) {
  const folder = await desk.rounds.planned();
  const plan = await folder.plan();
  if (plan === undefined) throw noPlan(folder.place);
  const load = plan.loads.find(({ id }) => id === wanted);
  if (load === undefined) throw noLoad(folder.place, wanted);
  return { plan, load };
}

async function prepare(desk: DeskAtHand, wanted: z.output<typeof order>, at: AtWork): Promise<ReportDocument> {
  const { target, leftovers, accepted: given } = wanted;
  const { plan, load } = await loadOf(desk, wanted.load);
  const [kit, ports, folder, { shelf }] = await Promise.all([
    desk.parts.families(plan.families),
    desk.parts.ports(),
    desk.rounds.planned(),
    desk.parts.shelf({ make: false, named: plan.shelf }),
  ]);
  const named = [target].values();
  let proposal: ReportDocument | undefined;
  const typed = load.wipes ? { what: 'a room of this load', example: '' } : undefined;
  const isRoom = (said: string): boolean =>
    plan.rooms.some(
      ({ key, room }) => load.rooms.includes(key) && [key, room].some((name) => comparable(name) === comparable(said)),
    );
  const report = await prepareRound(
    {
      round: plan,
      loads: [load.id],
      who: desk.parts.who,
      ...kit,
      trusted: trustedIn(wanted.signers),
      leftovers,
      dryRun: false,
      agreed: false,
      accepted: acceptedReasons(given),
    },
    { ...ports, folder, shelf, newId: randomUUID },
    {
      tell: at.tell,
      signal: at.signal,
      nextStick: async () => named.next().value,
      propose: async (job, findings, sticks) => {
        proposal = proposalOf(job, load.mode, findings, sticks);
      },
      agree: async (sticks) =>
        (await agreeToDrives(desk, sticks, at, proposal)) &&
        (await at.ask(proposal, {
          words: `Write as shown: ${plannedOf(sticks)}, for load ${load.id}, ${load.mode}${load.wipes ? ', which WIPES THE PANEL' : ''}${acceptedInWords(given)}?`,
          wipes: load.wipes,
          typed,
          isRight: isRoom,
        })),
      mayReuse: async (findings) => {
        const verdict = verdictOf(findings);
        const told = { ...head('round prepare', verdict, exitCodeOf(verdict)), findings: findingsOf(findings) };
        return await at.ask(told, {
          words: 'Nobody counts on that stick any more: write it anew?',
          wipes: load.wipes,
          typed,
          isRight: isRoom,
        });
      },
      prepared: async () => false,
    },
  );
  return roundPrepareDocument(report, exitCodeOf(report.verdict));
}
