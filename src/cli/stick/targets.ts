import type { Drive } from '../../core/model/drive.ts';
import { targetOf } from '../../core/report/name-targets.ts';
import type { ejectDrive } from '../../io/medium/eject-drive.ts';
import type { SeenTarget } from '../../io/volume/look-at-target.ts';
import type { EjectOutcome } from '../../render/text/render-format.ts';
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

interface Ejecting {
  readonly look: (target: string) => Promise<SeenTarget>;
  readonly eject: (place: SeenTarget) => ReturnType<typeof ejectDrive>;
}

async function ejectingHere(): Promise<Ejecting> {
  const { ejectDrive } = await import('../../io/medium/eject-drive.ts');
  const { runOfSystem } = await import('../../io/programs/run-powershell.ts');
  const { lookAtTarget } = await import('../../io/volume/look-at-target.ts');
  return {
    look: lookAtTarget,
    eject: ({ drive }) => ejectDrive(drive as NonNullable<typeof drive>, runOfSystem, process.platform),
  };
}

/**
 * Ejects the drives behind TARGETS and says of each on stderr whether it can be pulled, so that a JSON document on
 * stdout stays alone. What goes wrong with one does not keep the others. Whether it worked does not change what is on
 * the stick.
 */
export async function ejectTargets(
  targets: readonly string[],
  ejecting: () => Promise<Ejecting> = ejectingHere,
): Promise<readonly EjectOutcome[]> {
  const outcomes: EjectOutcome[] = [];
  if (targets.length === 0) return outcomes;
  const { renderEject } = await import('../../render/text/render-format.ts');
  const by = await ejecting();
  for (const target of targets) {
    const outcome = await ejectOne(target, by).catch((error: unknown) => notEjected(target, error));
    outcomes.push(outcome);
    aside(renderEject(outcome, lookOfAside()));
  }
  return outcomes;
}

async function ejectOne(target: string, { look, eject }: Ejecting): Promise<EjectOutcome> {
  const place = await look(target);
  if (place.kind === 'image') return { target, state: 'nothing-to-eject', reason: 'it is a file, and no stick' };
  const { drive, unlisted } = place;
  if (drive === undefined)
    return {
      target,
      state: 'not-yet',
      reason: unlisted?.message ?? 'the system does not tell which drive it lies on',
      todo: 'Eject it the way that this system offers, and pull it when that says so.',
    };
  // A file shown as a drive is let go of too, and a stick that carries what is in use: the system says whether it can.
  // What is never written is never touched here either.
  const isStick = drive.usb === true && drive.removable === true;
  const mayEject = drive.refusedBecause === undefined || isStick || drive.device.startsWith('/dev/loop');
  if (!mayEject || drive.holdsSystem)
    return { target, state: 'nothing-to-eject', reason: 'it lies on a drive of this computer, and no stick' };
  return { target, ...(await eject(place)) };
}

const notEjected = (target: string, error: unknown): EjectOutcome => ({
  target,
  state: 'not-yet',
  reason: error instanceof Error ? error.message : String(error),
  todo: 'Eject it the way that this system offers, and pull it when that says so.',
});
