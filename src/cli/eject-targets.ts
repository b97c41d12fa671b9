import { realpath } from 'node:fs/promises';
import { listDrives } from '../io/drives/list-drives.ts';
import { ejectDrive } from '../io/eject/eject-drive.ts';
import { runProgram } from '../io/programs/run-program.ts';
import { type EjectOutcome, renderEject } from '../render/text/render-eject.ts';
import { lookOf } from './screen.ts';

/**
 * Ejects the drives behind TARGETS and says on stderr which can be pulled, so that a JSON document on stdout stays alone. An
 * image file, or a folder that is no stick, is passed over. Whether it worked does not change what is on the stick.
 */
export async function ejectTargets(targets: readonly string[]): Promise<readonly EjectOutcome[]> {
  const drives = await listDrives().catch(() => []);
  const outcomes: EjectOutcome[] = [];
  for (const target of targets) {
    const path = await realpath(target).catch(() => target);
    const drive = drives.find(
      ({ device, volumes }) =>
        device === path || volumes.some((volume) => volume.device === path || volume.mountPoints.includes(path)),
    );
    // A file shown as a drive is let go of too; what is never written is never touched here either.
    const mayEject =
      drive !== undefined && (drive.refusedBecause === undefined || drive.device.startsWith('/dev/loop'));
    if (!mayEject || drive.holdsSystem) continue;
    const answer = await ejectDrive(drive, runProgram, process.platform);
    const outcome: EjectOutcome = { target, ...answer };
    outcomes.push(outcome);
    process.stderr.write(renderEject(outcome, lookOf(process.stderr, process.env)));
  }
  return outcomes;
}
