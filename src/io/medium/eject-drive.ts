import { ToolError } from '../../core/model/tool-error.ts';
import type { EjectOutcome } from '../../core/report/medium-reports.ts';
import type { Drive } from '../drives/drives.ts';
import type { SystemProgram } from '../programs/find-program.ts';
import { powerShellWords, runOfSystem } from '../programs/run-powershell.ts';
import { reasonOf } from '../programs/run-program.ts';
import { identifyStick } from '../volume/identify-stick.ts';
import { lockStick } from '../volume/lock-stick.ts';
import { lookAtTarget, type SeenTarget } from '../volume/look-at-target.ts';

/**
 * Has the system write all it holds, unmounts every volume of DRIVE (never by force) and, where there is a command,
 * cuts its power. Not while another run uses the stick.
 */
export async function ejectDrive(drive: Drive, run: RunProgram, platform: NodeJS.Platform): Promise<EjectAnswer> {
  const { device } = drive;
  const identity = await identifyStick('device', device, undefined, drive).catch(() => `path ${device}`);
  try {
    const unlock = await lockStick(identity, device);
    return await eject(drive, run, platform).finally(unlock);
  } catch (error) {
    if (!(error instanceof ToolError)) throw error;
    return { state: 'not-yet', reason: error.message, todo: error.todo };
  }
}

async function eject(drive: Drive, run: RunProgram, platform: NodeJS.Platform): Promise<EjectAnswer> {
  switch (platform) {
    case 'linux':
      return ejectOnLinux(drive, run);
    case 'darwin':
      return ejectOnMacos(drive, run);
    case 'win32':
      return ejectOnWindows(drive, run);
    default:
      return {
        state: 'not-yet',
        reason: 'this system has no command for it that we know',
        todo: 'Eject it the way that this system offers.',
      };
  }
}

/**
 * sync(1) first; then udisksctl(1), which any desktop account may use, or umount(8) and eject(1), which mostly need
 * root. Cutting the power is a help and no condition: an unmounted stick may be pulled.
 */
async function ejectOnLinux(drive: Drive, run: RunProgram): Promise<EjectAnswer> {
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

/** diskutil(8): eject unmounts all volumes of the drive and lets go of it. Not run on a real macOS. */
async function ejectOnMacos(drive: Drive, run: RunProgram): Promise<EjectAnswer> {
  try {
    await run('sync', []);
    await run('diskutil', ['eject', drive.device]);
    return { state: 'pull-it-now', poweredOff: true };
  } catch (error) {
    return explainRefusal(error);
  }
}

/** A drive letter and nothing else goes into the script. */
const letterForm = /^[A-Z]:$/i;

/**
 * Write-VolumeCache (Storage module) flushes; the shell's own "Eject" does what the icon in the task bar does. It
 * answers nothing, so the letter is looked for afterwards. Not run on a real Windows.
 */
async function ejectOnWindows(drive: Drive, run: RunProgram): Promise<EjectAnswer> {
  const letters = drive.volumes.map(({ device }) => device.slice(0, 2)).filter((letter) => letterForm.test(letter));
  try {
    for (const letter of letters) {
      const script = [
        `$ErrorActionPreference = 'Stop'`,
        `Write-VolumeCache -DriveLetter ${letter.slice(0, 1)}`,
        `(New-Object -ComObject Shell.Application).Namespace(17).ParseName('${letter}').InvokeVerb('Eject')`,
        'Start-Sleep -Seconds 3',
        `if (Test-Path '${letter}\\') { throw 'a program still holds ${letter}' }`,
      ].join('; ');
      const [program, ...words] = powerShellWords(script);
      await run(program, words);
    }
    return { state: 'pull-it-now', poweredOff: letters.length > 0 };
  } catch (error) {
    // PowerShell may be missing, or be allowed nothing of the shell (constrained language mode: no New-Object).
    return explainRefusal(error, 'with the icon in the task bar, or in Explorer by a right click on its letter');
  }
}

const explainRefusal = (error: unknown, how = 'again'): EjectAnswer => ({
  state: 'not-yet',
  reason: reasonOf(error),
  todo: `Close the windows and programs that show the stick, wait for its light to rest, and eject it ${how}. Do not pull it before.`,
});

/** Whether a stick may be pulled now, and if not, why. */
type EjectAnswer =
  | { readonly state: 'pull-it-now'; readonly poweredOff: boolean }
  /** REASON ends a sentence that begins with "It could not be let go of:". */
  | { readonly state: 'not-yet'; readonly reason: string; readonly todo: string };

/** One program of the system with its words; rejects with what it said. */
type RunProgram = (program: SystemProgram, args: readonly string[]) => Promise<string>;

export interface Ejecting {
  readonly look: (target: string) => Promise<SeenTarget>;
  readonly eject: (place: SeenTarget) => ReturnType<typeof ejectDrive>;
}

export const ejectingHere: Ejecting = {
  look: lookAtTarget,
  eject: ({ drive }) => ejectDrive(drive as NonNullable<typeof drive>, runOfSystem, process.platform),
};

/**
 * Ejects what lies behind a target and says whether it can be pulled; whatever goes wrong is an answer. Whether it
 * worked does not change what is on the stick.
 */
export async function ejectTarget(target: string, by: Ejecting = ejectingHere): Promise<EjectOutcome> {
  const todo = 'Eject it the way that this system offers, and pull it when that says so.';
  try {
    const place = await by.look(target);
    if (place.kind === 'image') return { target, state: 'nothing-to-eject', reason: 'it is a file, and no stick' };
    const { drive, unlisted } = place;
    if (drive === undefined) {
      const reason = unlisted?.message ?? 'the system does not tell which drive it lies on';
      return { target, state: 'not-yet', reason, todo };
    }
    // A file shown as a drive is let go of too, and a stick that carries what is in use: the system says whether it
    // can. What is never written is never touched here either.
    const isStick = drive.usb === true && drive.removable === true;
    const mayEject = drive.refusedBecause === undefined || isStick || drive.device.startsWith('/dev/loop');
    if (!mayEject || drive.holdsSystem)
      return { target, state: 'nothing-to-eject', reason: 'it lies on a drive of this computer, and no stick' };
    return { target, ...(await by.eject(place)) };
  } catch (error) {
    return { target, state: 'not-yet', reason: error instanceof Error ? error.message : String(error), todo };
  }
}
