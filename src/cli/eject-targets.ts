import { ejectDrive } from '../io/medium/eject-drive.ts';
import { runProgram } from '../io/programs/run-program.ts';
import { lookAtTarget, type Place } from '../io/volume/look-at-target.ts';
import { type EjectOutcome, renderEject } from '../render/text/render-format.ts';
import { lookOf } from './screen.ts';

/**
 * Ejects the drives behind TARGETS and says of each on stderr whether it can be pulled, so that a JSON document on stdout stays
 * alone. What goes wrong with one does not keep the others. Whether it worked does not change what is on the stick.
 */
export async function ejectTargets(
  targets: readonly string[],
  {
    look,
    eject,
  }: { readonly look: typeof lookAtTarget; readonly eject: (place: Place) => ReturnType<typeof ejectDrive> } = {
    look: lookAtTarget,
    eject: ({ drive }) => ejectDrive(drive as NonNullable<typeof drive>, runProgram, process.platform),
  },
): Promise<readonly EjectOutcome[]> {
  const outcomes: EjectOutcome[] = [];
  for (const target of targets) {
    const outcome = await ejectOne(target, look, eject).catch((error: unknown) => notEjected(target, error));
    outcomes.push(outcome);
    process.stderr.write(renderEject(outcome, lookOf(process.stderr, process.env)));
  }
  return outcomes;
}

async function ejectOne(
  target: string,
  look: typeof lookAtTarget,
  eject: (place: Place) => ReturnType<typeof ejectDrive>,
): Promise<EjectOutcome> {
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
  // A file shown as a drive is let go of too, and a stick that carries what is in use: the system says whether it can. What is never
  // written is never touched here either.
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
