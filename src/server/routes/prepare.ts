import { basename } from 'node:path';
import { Hono } from 'hono';
import * as z from 'zod';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import { leftoverPolicies, modes } from '../../core/model/mode.ts';
import { plannedOf } from '../../core/report/name-targets.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { normaliseLabel } from '../../core/text/label-text.ts';
import { prepareDocument } from '../../render/json/to-json.ts';
import type { Job } from '../../workflows/ports.ts';
import { prepareSticks } from '../../workflows/prepare-sticks.ts';
import { knownOfPackage } from '../../workflows/shelf-find.ts';
import { accepted, acceptedInWords, acceptedReasons } from '../accepted.ts';
import { agreeToDrives } from '../agree-to-drive.ts';
import type { Desk } from '../desk.ts';
import type { AtWork, DeskAtHand, WorkKind } from '../desk-at-hand.ts';
import { proposalOf } from '../proposal.ts';
import { bytesIn, claimsIn, published, signers, trustedIn } from '../published.ts';
import { bodyOf, refusal } from './body.ts';

const order = z.object({
  archivePath: z.string().max(4096),
  mode: z.enum(modes),
  label: z.string().max(1000),
  running: z.string().max(200).optional(),
  targets: z.array(z.string().max(4096)).min(1).max(64),
  leftovers: z.enum(leftoverPolicies).default('stop'),
  accepted,
  published,
  signers,
});

export type PrepareOrder = z.input<typeof order>;

/** Preparing sticks: plan first, then an agreement that names drive and consequence, then the writing. */
export const prepareRoutes = (desk: Desk): Hono =>
  new Hono().post('/', async (context) => {
    const wanted = await bodyOf(context, order);
    if (!(await desk.knowsPackage(wanted.archivePath)))
      throw refusal(409, 'That package is not where it was: look at the packages again.');
    acceptedReasons(wanted.accepted);
    claimsIn(wanted.published, basename(wanted.archivePath));
    const missing = wanted.targets.find((target) => !desk.knowsTarget(target));
    if (missing !== undefined) throw refusal(409, `${missing} is not plugged in any more.`);
    const about = `${basename(wanted.archivePath)} for ${wanted.label}`;
    return context.json({ id: desk.work.start(preparing, wanted, { about, targets: wanted.targets }) });
  });

export const preparing: WorkKind<z.output<typeof order>> = { kind: 'prepare', run: prepare };

async function prepare(desk: DeskAtHand, wanted: z.output<typeof order>, at: AtWork): Promise<ReportDocument> {
  const { families, familiesNamed, hashAlways } = await desk.parts.families();
  const { archivePath, label, running } = wanted;
  const shelf = await desk.parts.shelf({ make: false }).then(
    ({ shelf }) => shelf,
    () => undefined,
  );
  const question = { fileName: basename(archivePath), label, running, families };
  const { claims, known } = await knownOfPackage(archivePath, question, shelf);
  let seen: { job: Job; wipes: boolean; proposal: ReportDocument } | undefined;
  const report = await prepareSticks(
    {
      ...wanted,
      families,
      familiesNamed,
      hashAlways,
      claims: [...claimsIn(wanted.published, question.fileName), ...claims],
      known,
      expectBytes: bytesIn(wanted.published),
      trusted: trustedIn(wanted.signers),
      accepted: acceptedReasons(wanted.accepted),
      dryRun: false,
      agreed: false,
    },
    await desk.parts.ports(),
    {
      tell: at.tell,
      signal: at.signal,
      propose: async (job, findings, sticks) => {
        seen = {
          job,
          wipes: !job.rules['keeps-data'],
          proposal: proposalOf(job, wanted.mode, findings, sticks),
        };
      },
      agree: async (sticks) => {
        const wipes = seen?.wipes === true;
        if (!(await agreeToDrives(desk, sticks, at, seen?.proposal))) return false;
        return await at.ask(seen?.proposal, {
          words: `Write as shown: ${plannedOf(sticks)}, for ${wanted.mode}${wipes ? ', which WIPES THE PANEL' : ''}${acceptedInWords(wanted.accepted)}?`,
          wipes,
          typed: wipes ? { what: "the label on the panel's plate", example: '' } : undefined,
          isRight: (typed) => normaliseLabel(typed) === normaliseLabel(wanted.label),
        });
      },
    },
  );
  return prepareDocument(report, exitCodeOf(report.verdict));
}
