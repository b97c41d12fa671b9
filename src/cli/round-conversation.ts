import type { Finding } from '../core/findings/finding.ts';
import type { StickAnswer } from '../core/report/reports.ts';
import { tame } from '../render/text/page.ts';
import { renderFindings } from '../render/text/render-findings.ts';
import { renderProposal } from '../render/text/render-report.ts';
import { renderPreparedStick, worthSaying } from '../render/text/render-round-prepare.ts';
import type { RoundPrepareRunning } from '../workflows/round-prepare.ts';
import { ask, interruptedBy } from './interruption.ts';
import { lookOf, say } from './screen.ts';

export interface ConversationOptions {
  /** Empty: sticks are taken as they are plugged in. */
  readonly stick: readonly string[];
  readonly dryRun?: true | undefined;
  readonly yes?: true | undefined;
  readonly json?: true | undefined;
}

const look = () => lookOf(process.stdout, process.env);

/** Most plan items that are shown of each stick. */
const mostItems = 12;

/** What is shown of each stick of a round, and what is asked. */
export function roundConversation(
  options: ConversationOptions,
  endProgress: () => void,
): Pick<RoundPrepareRunning, 'propose' | 'agree' | 'mayReuse' | 'prepared'> {
  const asks = options.yes !== true && options.dryRun !== true;
  const shown = new Set<Finding>();
  return {
    propose: async (job, findings, sticks) => {
      endProgress();
      for (const found of [...findings, ...sticks.flatMap((stick) => stick.findings)]) shown.add(found);
      if (!options.json) await say(`${renderProposal(job, worthSaying(findings), sticks, look(), mostItems)}\n`);
    },
    agree: (sticks) => confirmed(`Write ${targetsOf(sticks)} as shown?`),
    mayReuse: async (findings) => {
      if (!asks) return false;
      for (const found of findings) shown.add(found);
      await say(renderFindings(findings, look()));
      return await confirmed('Nobody counts on that stick any more: write it anew?');
    },
    prepared: async (stick) => {
      endProgress();
      if (!options.json) await say(renderPreparedStick(stick, shown, look()));
      const isUndone = stick.code === undefined && options.stick.length === 0;
      return isUndone && asks && (await confirmed(`Load ${stick.preparation.load.id} again, with another stick?`));
    },
  };
}

const targetsOf = (sticks: readonly StickAnswer[]): string =>
  sticks
    .filter(({ state }) => state === 'planned')
    .map(({ target }) => target)
    .join(', ');

/** Ctrl-C at a question ends the whole run between two sticks, as it does everywhere else. */
async function confirmed(message: string): Promise<boolean> {
  const { confirm } = await import('@inquirer/prompts');
  return await ask((asking) => confirm({ message: tame(message), default: false }, asking)).catch((error: unknown) => {
    if (interruptedBy() === undefined) throw error;
    return false;
  });
}
