import type { Drive } from '../drives/drives.ts';
import type { EjectAnswer, RunProgram } from './eject-answer.ts';
import { explainRefusal } from './explain-refusal.ts';

/**
 * sync(1) first; then udisksctl(1), which any desktop account may use, or umount(8) and eject(1), which mostly need root. Cutting
 * the power is a help and no condition: an unmounted stick may be pulled.
 */
export async function ejectOnLinux(drive: Drive, run: RunProgram): Promise<EjectAnswer> {
  try {
    await run('sync', []);
    for (const { device, mountPoints } of drive.volumes) {
      for (const point of mountPoints) {
        await run('udisksctl', ['unmount', '--no-user-interaction', '--block-device', device]).catch(() =>
          run('umount', [point]),
        );
      }
    }
  } catch (error) {
    return explainRefusal(error);
  }
  const isOff = await run('udisksctl', ['power-off', '--no-user-interaction', '--block-device', drive.device])
    .catch(() => run('eject', [drive.device]))
    .then(() => true)
    .catch(() => false);
  return { state: 'pull-it-now', poweredOff: isOff };
}
