import type { Drive } from '../drives/drives.ts';
import type { EjectAnswer, RunProgram } from './eject-answer.ts';
import { explainRefusal } from './explain-refusal.ts';

/** diskutil(8): eject unmounts all volumes of the drive and lets go of it. Not run on a real macOS. */
export async function ejectOnMacos(drive: Drive, run: RunProgram): Promise<EjectAnswer> {
  try {
    await run('sync', []);
    await run('diskutil', ['eject', drive.device]);
    return { state: 'pull-it-now', poweredOff: true };
  } catch (error) {
    return explainRefusal(error);
  }
}
