import { randomUUID } from 'node:crypto';
import { basename } from 'node:path';
import * as z from 'zod';
import { exitCodeOf } from '../../core/model/exit-codes.ts';
import { modes } from '../../core/model/mode.ts';
import { failureOf } from '../../core/model/tool-error.ts';
import type { ReturnedReport } from '../../core/report/medium-reports.ts';
import type { ReportDocument } from '../../core/report/report-schema.ts';
import { trustedKeys } from '../../io/files/desk-key.ts';
import { keepLeft, ownFolderFor } from '../../io/files/keep-left.ts';
import { settleDirtyMark } from '../../io/medium/settle-dirty-mark.ts';
import { returnedDocument } from '../../render/json/stick-documents.ts';
import { toolErrorOf, verifyDocument } from '../../render/json/to-json.ts';
import { returnedStick } from '../../workflows/returned-stick.ts';
import { noteReturned } from '../../workflows/round-note-returned.ts';
import { verifyStick } from '../../workflows/verify-stick.ts';
import type { AtWork, DeskAtHand, WorkKind } from '../desk-at-hand.ts';

const asked = {
  target: z.string().max(4096),
  label: z.string().max(1000).optional(),
  quick: z.boolean().default(false),
};

export const verifyOrder = z.object({
  ...asked,
  mode: z.enum(modes).optional(),
  replugged: z.boolean().default(false),
});

export const lookBackOrder = z.object({
  ...asked,
  /** Show what would go, ask, and clear it. */
  clear: z.boolean().default(false),
  /** Copy what a panel left to the desk first. */
  keep: z.boolean().default(false),
});

/** As `verify`: whether the stick is what its record says. */
async function verify(
  desk: DeskAtHand,
  { target, label, mode, quick, replugged }: z.output<typeof verifyOrder>,
  at: AtWork,
): Promise<ReportDocument> {
  const sealFrom = trustedKeys(undefined, process.env);
  const request = { target, label: label || undefined, mode, quick, replugged, sealFrom };
  const report = await verifyStick(request, await desk.parts.ports(), at);
  return verifyDocument(report, exitCodeOf(report.verdict));
}

/** As `verify --returned`: what a panel left, whether the stick was changed, and with `clear` its next job. */
async function lookBack(desk: DeskAtHand, order: z.output<typeof lookBackOrder>, at: AtWork): Promise<ReportDocument> {
  const { target, label, quick, clear, keep } = order;
  const report = await returnedStick(
    {
      target,
      label: label || undefined,
      mode: undefined,
      quick,
      sealFrom: trustedKeys(undefined, process.env),
      clear,
      agreed: false,
      keepLeft: keep ? await ownFolderFor(target) : undefined,
    },
    { ...(await desk.parts.ports()), keepLeft, settleDirtyMark },
    {
      tell: at.tell,
      signal: at.signal,
      propose: async () => {},
      agree: (proposed) =>
        at.ask(documentOf(proposed), {
          words: `Clear ${target} as shown?`,
          wipes: false,
          typed: undefined,
          buttons: { yes: 'Clear it as shown', no: 'No, leave it as it is' },
        }),
    },
  );
  return { ...documentOf(report), ...(await noted(desk, report)) };
}

/** In the round that counts on this stick, where there is one. What was found is said all the same where that fails. */
async function noted(desk: DeskAtHand, report: ReturnedReport) {
  const folder = report.manifest && (await desk.rounds.ofStick(report.manifest.stick));
  if (folder === undefined) return {};
  const { now, digesting } = await desk.parts.ports();
  try {
    await noteReturned(report, desk.parts.who, { folder, sha256: digesting.sha256, now, newId: randomUUID });
  } catch (error) {
    return { error: toolErrorOf(failureOf(error)) };
  }
  desk.tell({ event: 'changed', what: 'round' });
  return { noted: basename(folder.place, '.round') };
}

export const verifying: WorkKind<z.output<typeof verifyOrder>> = { kind: 'verify', run: verify };

export const lookingBack: WorkKind<z.output<typeof lookBackOrder>> = { kind: 'verify --returned', run: lookBack };

const documentOf = (report: ReturnedReport): ReportDocument =>
  returnedDocument(report, report.clearing.state === 'cleared' ? exitCodeOf('ready') : exitCodeOf(report.verdict));
