import type { ReportDocument } from '../core/report/report-schema.ts';
import type { StickAnswer } from '../core/report/reports.ts';
import { isTypedSize } from '../core/text/byte-size.ts';
import { roundedSize } from '../core/text/words.ts';
import type { AtWork, DeskAtHand } from './desk-at-hand.ts';

/**
 * Before a drive is written that is no removable USB stick, its size is typed: a reason alone is written once and holds
 * for whatever is ticked. The command takes a yes for it, and here a tick is as easily set as missed.
 */
export async function agreeToDrives(
  desk: DeskAtHand,
  sticks: readonly StickAnswer[],
  at: AtWork,
  proposal: ReportDocument | undefined,
): Promise<boolean> {
  const planned = sticks.filter(({ state }) => state === 'planned').map(({ target }) => target);
  for (const { target, name, doubt, bytes = 0 } of desk.targets) {
    if (doubt === undefined || !planned.includes(target)) continue;
    const agreed = await at.ask(proposal, {
      words: `${name}, of ${roundedSize(bytes)}, opened as ${target}, is no removable USB stick: ${doubt}. What lies on it may be somebody's. Write there all the same?`,
      wipes: false,
      typed: { what: 'the size of that drive', example: '' },
      isRight: (typed) => typed.trim() !== '' && isTypedSize(typed, bytes),
      buttons: { yes: 'Go on', no: 'No, write nothing' },
    });
    if (!agreed) return false;
  }
  return true;
}
