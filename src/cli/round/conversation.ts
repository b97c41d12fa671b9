import { setTimeout as wait } from 'node:timers/promises';
import type { JudgedDrive } from '../../core/checks/stick/judge-drive.ts';
import type { Finding } from '../../core/findings/finding.ts';
import type { Family } from '../../core/model/family.ts';
import { plannedOf, targetOf } from '../../core/report/name-targets.ts';
import { listDrives } from '../../io/drives/list-drives.ts';
import { nameInWords } from '../../render/text/render-drives.ts';
import { renderFindings } from '../../render/text/render-findings.ts';
import { renderProposal } from '../../render/text/render-report.ts';
import { renderPreparation, renderPreparedStick, worthSaying } from '../../render/text/render-round-prepare.ts';
import type { RoundPrepareRunning } from '../../workflows/round-prepare.ts';
import { awaitStick } from '../../workflows/watch-drives.ts';
import { confirmed } from '../frame/agree.ts';
import type { Frame } from '../frame/command.ts';
import { interruptedBy } from '../frame/interruption.ts';
import { note } from '../frame/screen.ts';

interface Conversation {
  /** Empty: sticks are taken as they are plugged in. */
  readonly targets: readonly string[];
  readonly families: readonly Family[];
  readonly dryRun?: true | undefined;
  readonly yes?: true | undefined;
}

/** Most plan items that are shown of each stick. */
const mostItems = 12;

/** Where the sticks of a round come from, what is shown of each, and what is asked. */
export function conversation(
  { targets, families, dryRun, yes }: Conversation,
  { look, show }: Frame,
  signal: AbortSignal,
): Omit<RoundPrepareRunning, 'tell' | 'signal'> {
  const asks = yes !== true && dryRun !== true;
  const shown = new Set<Finding>();
  const named = targets.values();
  const plugged = pluggedSticks(families, signal, yes !== true);
  return {
    nextStick: async (preparation, left) => {
      const next = named.next().value;
      if (next !== undefined || targets.length === 0) await show(renderPreparation(preparation, left, look));
      if (targets.length > 0) return next;
      return dryRun ? undefined : await plugged();
    },
    propose: async (job, findings, sticks) => {
      for (const found of [...findings, ...sticks.flatMap((stick) => stick.findings)]) shown.add(found);
      await show(`${renderProposal(job, worthSaying(findings), sticks, look, mostItems)}\n`);
    },
    agree: (sticks) => confirmedOrStopped(`Write as shown: ${plannedOf(sticks)}?`),
    mayReuse: async (findings) => {
      if (!asks) return false;
      for (const found of findings) shown.add(found);
      await show(renderFindings(findings, look));
      return await confirmedOrStopped('Nobody counts on that stick any more: write it anew?');
    },
    prepared: async (stick) => {
      await show(renderPreparedStick(stick, shown, look));
      const isUndone = stick.code === undefined && targets.length === 0;
      const question = `Load ${stick.preparation.load.id} again, with another stick?`;
      return isUndone && asks && (await confirmedOrStopped(question));
    },
  };
}

/** Ctrl-C at a question ends the whole run between two sticks, as it does everywhere else. */
async function confirmedOrStopped(message: string): Promise<boolean> {
  return await confirmed(message).catch((error: unknown) => {
    if (interruptedBy() === undefined) throw error;
    return false;
  });
}

const pauseMs = 1000;

const identityOf = ({ device, serial }: JudgedDrive): string => `${device} ${serial ?? ''}`;

/**
 * Sticks as a person plugs them in, each at most once until it is put back. What is plugged in at the start is only
 * offered where somebody is asked before it is written.
 */
function pluggedSticks(families: readonly Family[], signal: AbortSignal, asks: boolean) {
  const had = new Set<string>();
  return async (): Promise<string | undefined> => {
    note(`Plug in ${had.size === 0 ? 'a stick' : 'the next stick'}. Ctrl-C ends it; what is recorded stays.`);
    const drive = await awaitStick(
      {
        families,
        offerThere: asks,
        refuse: (one) => {
          if (had.has(identityOf(one))) return 'it was dealt with already';
          const choice = targetOf(one);
          return 'reason' in choice ? choice.reason : undefined;
        },
        signal,
        note,
      },
      { listDrives, pause: (until) => wait(pauseMs, undefined, { signal: until }).catch(() => {}) },
    );
    if (drive === undefined) return undefined;
    had.add(identityOf(drive));
    const choice = targetOf(drive);
    if ('reason' in choice) return undefined;
    note(`${choice.target}: ${nameInWords(drive)}, serial ${drive.serial || 'unknown'}.`);
    return choice.target;
  };
}
