import type { Drive } from '../../core/model/drive.ts';
import type { EjectOutcome } from '../../core/report/medium-reports.ts';
import { targetOf } from '../../core/report/name-targets.ts';
import type { Ejecting } from '../../io/medium/eject-drive.ts';
import { UsageError } from '../frame/exit-codes.ts';
import { aside, lookOfAside } from '../frame/screen.ts';

/** The word that stands for every stick that is plugged in. */
const everyStick = 'all';

/**
 * What `--stick` names, `all` replaced by every removable USB drive that holds nothing in use; NOTE hears which sticks
 * were left out, and why. One that carries the archive or this tool is written where it is named itself.
 */
export async function chooseTargets(
  named: readonly string[],
  note: (line: string) => void,
  list: () => Promise<readonly Drive[]>,
): Promise<readonly string[]> {
  if (!named.includes(everyStick)) return named;
  if (named.length > 1) {
    throw new UsageError('--stick all stands for every stick.', 'Name sticks one by one, or all of them, not both.');
  }
  const targets = (await list())
    .filter((drive) => drive.refusedBecause === undefined || isStickInUse(drive))
    .flatMap((drive) => {
      const choice = drive.refusedBecause === undefined ? targetOf(drive) : { reason: drive.refusedBecause };
      if ('target' in choice) return [choice.target];
      note(`Left out: ${drive.device} (${drive.model ?? 'unknown model'}): ${choice.reason}.`);
      return [];
    });
  if (targets.length > 0) return targets;
  throw new UsageError('No stick is plugged in that would do.', 'See what is there: stickwright drives --all');
}

/** A stick like any other, but for what lies on it. */
const isStickInUse = ({ usb, removable, holds = [] }: Drive): boolean =>
  usb === true && removable === true && holds.length > 0;

/**
 * Ejects the drives behind TARGETS and says of each on stderr whether it can be pulled, so that a JSON document on
 * stdout stays alone. What goes wrong with one does not keep the others. Whether it worked does not change what is on
 * the stick.
 */
export async function ejectTargets(
  targets: readonly string[],
  ejecting?: () => Promise<Ejecting>,
): Promise<readonly EjectOutcome[]> {
  const outcomes: EjectOutcome[] = [];
  if (targets.length === 0) return outcomes;
  const { renderEject } = await import('../../render/text/render-format.ts');
  const { ejectTarget, ejectingHere } = await import('../../io/medium/eject-drive.ts');
  const by = (await ejecting?.()) ?? ejectingHere;
  for (const target of targets) {
    const outcome = await ejectTarget(target, by);
    outcomes.push(outcome);
    aside(renderEject(outcome, lookOfAside()));
  }
  return outcomes;
}
