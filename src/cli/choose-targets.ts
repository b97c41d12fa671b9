import type { Drive } from '../core/model/drive.ts';
import { listDrives } from '../io/drives/list-drives.ts';
import { tame } from '../render/text/page.ts';
import { UsageError } from './usage-error.ts';

/** The word that stands for every stick that is plugged in. */
const everyStick = 'all';

/**
 * What `--stick` names, `all` replaced by every removable USB drive that holds nothing in use; NOTE hears which sticks were left out, and why. One that carries
 * the archive or this tool is written where it is named itself.
 */
export async function chooseTargets(
  named: readonly string[],
  note: (line: string) => void,
  list: () => Promise<readonly Drive[]> = listDrives,
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
      note(tame(`Left out: ${drive.device} (${drive.model ?? 'unknown model'}): ${choice.reason}.`));
      return [];
    });
  if (targets.length > 0) return targets;
  throw new UsageError('No stick is plugged in that would do.', 'See what is there: stickwright drives --all');
}

/** A stick like any other, but for what lies on it. */
const isStickInUse = ({ usb, removable, holds = [] }: Drive): boolean =>
  usb === true && removable === true && holds.length > 0;

/** The folder of its one mounted volume, else the drive itself. */
export function targetOf({ device, volumes, readOnly }: Drive): { target: string } | { reason: string } {
  if (readOnly === true) return { reason: 'it cannot be written' };
  const mounted = volumes.filter(({ mountPoints }) => mountPoints.length > 0);
  if (mounted.length > 1) return { reason: 'more than one of its volumes is mounted' };
  return { target: mounted[0]?.mountPoints[0] ?? device };
}
